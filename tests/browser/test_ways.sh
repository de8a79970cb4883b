#!/bin/bash
# test_ways.sh BUILD - see ways.mjs.
. "$(dirname "$0")/prepare.sh"
exec node --test ways.mjs
