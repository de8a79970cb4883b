#!/bin/bash
# test_pages_light.sh BUILD - see pages.mjs.
. "$(dirname "$0")/prepare.sh"
STILLROOM_THEME=light exec node --test pages.mjs
