#!/usr/bin/env bash
# Runs every benchmark of a build: run.sh BUILD [short]. Programs that have a script beside them
# are run by it.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
build=$1
mode=${2:-}
for source in "$here"/bench_*.c; do
    name=$(basename "$source" .c)
    [[ -e $here/$name.py ]] || "$build/tests/$name" ${mode:+"$mode"} 2>&1
done
for script in "$here"/bench_*.py; do
    /usr/bin/python3 "$script" "$build" ${mode:+"$mode"} 2>&1
done
