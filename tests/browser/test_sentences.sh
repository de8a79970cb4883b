#!/bin/bash
# test_sentences.sh BUILD - what the pages say, without a browser.
# shellcheck source=tests/browser/prepare.sh
. "$(dirname "$0")/prepare.sh"
exec node --test sentences.mjs
