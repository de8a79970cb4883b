#!/bin/bash
# test_daemon.sh BUILD - see daemon.mjs.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
exec node --test daemon.mjs
