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

expect "status" stillroom st
expect "export" stillroom --site "$scratch/site.ini" e
expect "--to" stillroom export --t
expect "--json" stillroom status --j
expect "plan" stillroom calc p
expect "--altitude" stillroom calc --a
expect "--stamp-request" stillroom bundle --s
expect "drying-room store" stillroom --site "$scratch/site.ini" bundle --zone ""
expect "$scratch/site.ini" stillroom verify "$scratch/si"
expect "bench-line" stillroom --site "$scratch/site.ini" probe ""
expect "--units" stillroom probe --u
expect "discrete" stillroom probe --table d
expect "drying-room store" stillroom --site "$scratch/site.ini" export --zone ""
expect "store" stillroom --site "$scratch/site.ini" export --zone s
expect "15m 1h 1d" stillroom export --step 1
expect "$scratch/site.ini" stillroom --site "$scratch/si"
expect "$scratch/site.ini" stillroomd --site "$scratch/si"
expect "--check" stillroomd --c

if [ ! -x "$build/bin/stillroom" ] || [ ! -x "$build/bin/stillroomd" ]; then
    echo "the programs are not built"
    exit 1
fi

same() { # WHAT LIST-OF-ONE LIST LIST-OF-OTHER LIST
    if [ -z "$3" ] || [ "$(tr ' ' '\n' <<<"$3" | sort -u)" != "$(tr ' ' '\n' <<<"$5" | sort -u)" ]; then
        echo "$1: $2:" $3
        echo "$1: $4:" $5
        failed=1
    fi
}

options_of() { # the options that a help text names
    { grep -oE -e '--[a-z]+(-[a-z]+)*' <<<"$1" || true; } | sort -u | tr '\n' ' ' | sed 's/ $//'
}

# An item of the page's list of commands, to the next.
item() {
    awk -v command="$1" '/^\.It Ic /{on = $3 == command} /^\.Sh/{on = 0} on' contrib/man/stillroom.1
}

help=$("$build/bin/stillroom" --help)
in_tool=$(sed -n 's/^  \([a-z][a-z]*\) .*/\1/p' <<<"$help" | tr '\n' ' ' | sed 's/ $//')
in_page=$(sed -n 's/^\.It Ic \([a-z]*\).*/\1/p' contrib/man/stillroom.1 | tr '\n' ' ' | sed 's/ $//')
same "commands" "the tool" "$in_tool" "the page" "$in_page"
same "commands" "the tool" "$in_tool" "the completion" "$_stillroom_commands"
same "options" "the tool" "$(options_of "$help")" "the completion" "$(_stillroom_options '')"
for command in $in_tool; do
    options=$(options_of "$("$build/bin/stillroom" "$command" --help | sed 's/\[--site FILE\]//')")
    in_completion=$(_stillroom_options "$command")
    in_item=$(options_of "$(item "$command" | sed 's/Fl -/--/g') --help")
    # Every command has --help; the page says so once.
    same "options of $command" "the tool" "$(options_of "$options --help")" "the completion" \
        "$in_completion"
    same "options of $command" "the tool" "$(options_of "$options --help")" "the page" "$in_item"
done
same "options of stillroomd" "the daemon" "$(options_of "$("$build/bin/stillroomd" --help)")" \
    "the completion" "$(offered stillroomd "")"
same "options of stillroomd" "the daemon" "$(options_of "$("$build/bin/stillroomd" --help)")" \
    "the page" "$(options_of "$(sed 's/Fl -/--/g' contrib/man/stillroomd.8 | sed '/^\.Dl/d')")"
exit $failed
