#!/bin/bash
# test_pages_light.sh BUILD - see pages.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
STILLROOM_THEME=light exec node --test pages.mjs
