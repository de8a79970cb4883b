#!/bin/bash
# test_ways.sh BUILD - see ways.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
exec node --test ways.mjs
