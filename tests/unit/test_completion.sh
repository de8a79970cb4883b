#!/bin/bash
# bash completes commands, options, and the names that the site file holds, and knows the
# commands that the manual page and the tool know.
set -euo pipefail
build=$1
source contrib/completions/stillroom
failed=0

# What is offered behind these words; the last is the one being typed.
offered() {
    local COMP_WORDS=("$@") COMP_CWORD=$(($# - 1)) COMPREPLY=()
    if [ "$1" = stillroomd ]; then _stillroomd; else _stillroom; fi
    echo "${COMPREPLY[*]}"
}

expect() { # WANT WORD...
    local want=$1 got
    shift
    got=$(offered "$@")
    if [ "$got" != "$want" ]; then
        echo "behind \"$*\": \"$got\", expected \"$want\""
        failed=1
    fi
}

scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
printf '[zone drying-room]\n  [ zone   store ] ; c\n[bus bench-line]\n[instrument store-1]\n' \
    >"$scratch/site.ini"

expect "calc" stillroom ca
expect "export" stillroom --site "$scratch/site.ini" e
expect "--temperature" stillroom calc --t
expect "drying-room store" stillroom --site "$scratch/site.ini" export --zone ""
expect "store" stillroom --site "$scratch/site.ini" export --zone s
expect "bench-line" stillroom --site "$scratch/site.ini" probe ""
expect "15m 1h 1d" stillroom export --step 1
expect "$scratch/site.ini" stillroom --site "$scratch/si"
expect "$scratch/site.ini" stillroomd --site "$scratch/si"
expect "--check" stillroomd --c

in_page=$(sed -n '/^\.Sh COMMANDS/,/^\.Sh EXIT/s/^\.It Ic \([a-z]*\).*/\1/p' \
    contrib/man/stillroom.1 | sort)
in_completion=$(tr ' ' '\n' <<<"$_stillroom_commands" | sort)
if [ -z "$in_page" ] || [ "$in_page" != "$in_completion" ]; then
    echo "commands of the page:" $in_page
    echo "of the completion:" $in_completion
    failed=1
fi
for command in $in_page; do
    if [ -x "$build/bin/stillroom" ] && ! "$build/bin/stillroom" "$command" --help >/dev/null; then
        echo "the page names \"$command\", which the tool does not have"
        failed=1
    fi
done
exit $failed
