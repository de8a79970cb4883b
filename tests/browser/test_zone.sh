#!/bin/bash
# test_zone.sh BUILD - see zone.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
exec node --test zone.mjs
