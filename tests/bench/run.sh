#!/usr/bin/env bash
# Runs every benchmark of a build: run.sh BUILD [short]. Programs that have a script beside them
# are run by it. A bar that is not met is no failure; a benchmark that says nothing is.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
build=$1
mode=${2:-}

# run COMMAND...: passes on what it says; its status counts only where it measured nothing.
run() {
    local said status=0
    said=$("$@" 2>&1) || status=$?
    printf '%s\n' "$said"
    [[ $said == *bar* ]] || {
        printf '%s: no measurement (status %d)\n' "$1 ${2:-}" "$status" >&2
        exit 1
    }
}

for source in "$here"/bench_*.c; do
    name=$(basename "$source" .c)
    [[ -e $here/$name.py ]] || run "$build/tests/$name" ${mode:+"$mode"}
done
for script in "$here"/bench_*.py; do
    run /usr/bin/python3 "$script" "$build" ${mode:+"$mode"}
done
