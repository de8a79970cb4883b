#!/bin/bash
# The manual pages are formatted without a warning, at any width a terminal may have.
set -euo pipefail

if ! command -v man >/dev/null || ! command -v groff >/dev/null; then
    echo "man or groff is not installed: skipped"
    exit 77
fi

warnings() { # PAGE WIDTH
    LC_ALL=C.UTF-8 MANROFFSEQ='' MANWIDTH=$2 \
        man --warnings -E UTF-8 -l -Tutf8 -Z "$1" 2>&1 >/dev/null
}

# A macro's name as a plain word of a line is swallowed without a warning: "Fr" among days, say.
macros='(Ad|An|At|Cd|Cm|Dv|Em|Er|Ev|Fa|Fl|Fn|Fr|Ic|In|Lb|Nm|No|Ot|Pa|Pf|Sm|Sx|Sy|Tn|Va|Vt|Xr)'
swallowed() { # PAGE
    grep -nE "^\.(Li|D1|Dl|Ar|Pa) .* $macros( |$)|^\..* (Ar|Li) $macros( |$)" "$1" || true
}

failed=0
for page in contrib/man/*.[1-8]; do
    for width in 60 80 200; do
        found=$(warnings "$page" "$width")
        if [ -n "$found" ]; then
            echo "$page at $width columns: $found"
            failed=1
        fi
    done
    found=$(swallowed "$page")
    if [ -n "$found" ]; then
        echo "$page: a word of this line is taken as a macro; put \\& before it: $found"
        failed=1
    fi
done

# The check must see a page that is wrong.
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
{ cat contrib/man/stillroomd.8; printf '.Nosuchmacro x\n'; } >"$scratch/stillroomd.8"
if [ -z "$(warnings "$scratch/stillroomd.8" 80)" ]; then
    echo "an unknown macro gives no warning: the test is blind"
    failed=1
fi
for line in '.Li Mo Tu We Th Fr Sa Su' '.It Ic calc Op Fl -pressure Ar Pa'; do
    echo "$line" >"$scratch/line"
    if [ -z "$(swallowed "$scratch/line")" ]; then
        echo "the word swallowed in \"$line\" is not seen: the test is blind"
        failed=1
    fi
done
exit $failed
