# shellcheck shell=bash
# prepare.sh - sourced by the tests here: packages in the build folder, and where they are.
# Sets STILLROOM_BUILD. Leaves with 77 (skipped) when the pages were not built.
STILLROOM_BUILD=$(realpath "$1")
export STILLROOM_BUILD
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
if [ ! -f "$STILLROOM_BUILD/web/site/index.html" ]; then
    echo "skipped: this build holds no pages (STILLROOM_WEB is OFF, or npm was not found)"
    exit 77
fi
mkdir -p "$STILLROOM_BUILD/browser"
(
    flock 9
    if ! cmp -s "$here/package-lock.json" "$STILLROOM_BUILD/browser/installed.json"; then
        cp "$here/package.json" "$here/package-lock.json" "$here/.npmrc" "$STILLROOM_BUILD/browser/"
        cd "$STILLROOM_BUILD/browser" && npm ci --prefer-offline --loglevel=error
        cp "$here/package-lock.json" "$STILLROOM_BUILD/browser/installed.json"
    fi
) 9> "$STILLROOM_BUILD/browser/lock" || exit 1
cd "$here" || exit 1
