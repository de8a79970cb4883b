#!/bin/bash
# Each fuzz target for a few seconds; contrib/fuzz runs them for longer.
set -euo pipefail
if ! command -v clang >/dev/null; then
    echo "clang is not installed: skipped"
    exit 77
fi
exec contrib/fuzz --build "$1/fuzz" --seconds 10
