#!/bin/bash
# test_zone.sh BUILD - see zone.mjs.
. "$(dirname "$0")/prepare.sh"
exec node --test zone.mjs
