#!/bin/bash
# test_live.sh BUILD - see live.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
exec node --test live.mjs
