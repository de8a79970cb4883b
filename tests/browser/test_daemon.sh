#!/bin/bash
# test_daemon.sh BUILD - see daemon.mjs.
. "$(dirname "$0")/prepare.sh"
exec node --test daemon.mjs
