#!/bin/bash
# test_pages_dark.sh BUILD - see pages.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
STILLROOM_THEME=dark exec node --test pages.mjs
