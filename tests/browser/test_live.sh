#!/bin/bash
# test_live.sh BUILD - see live.mjs.
. "$(dirname "$0")/prepare.sh"
exec node --test live.mjs
