#!/bin/bash
# The library gives the same bits from gcc and clang, at -O0 and -O3, with the same libm.
# Argument: the build folder.
set -eu
work=$(mktemp -d "$1/same-bits.XXXXXX")
trap 'rm -rf "$work"' EXIT
root=$(cd "$(dirname "$0")/../.." && pwd)

# Questions over the whole range of each function, in a fixed order.
awk 'BEGIN {
    srand(1)
    print "board_begin 0.02 2 1e-10 1e-7 0.134 1 9"
    for (i = 0; i < 4000; i++) {
        t = -30 + 90 * rand(); rh = 1 + 98 * rand(); p = 60000 + 48000 * rand()
        printf "svp_water %.6f\ndew_point %.6f %.6f\nfrost_point %.6f %.6f\n", t, t, rh, t, rh
        printf "wet_bulb %.6f %.6f %.6f\nabsolute_humidity %.6f %.6f\n", t, rh, p, t, rh
        printf "enthalpy %.6f %.6f %.6f\nemc %.6f %.6f\n", t, rh, p, t, rh
        printf "mould_index %d %.6f %.6f %.6f 500 0.25\n", i % 5 - 1, 5 * rand(), t, rh
        printf "slab_mean %.9f\nslab_mean_resisted %.6f %.6f\n", rand(), 9 * rand() + 0.1, rand() + 0.01
        printf "board_air %.6f %.6f %d\nboard_now\n", t, rh, 1 + 90000 * rand()
    }
}' >"$work/questions"

# And a year of air, uneven and with gaps, through every model that takes a record.
awk 'BEGIN {
    srand(2); t = 1700000000; walk = 50
    for (i = 0; i < 9600; i++) {
        t += 3500 + int(200 * rand()) + (rand() < 0.002 ? 40000 : 0)
        walk += 3 * (rand() - 0.5) + 0.01 * (50 - walk)
        if (rand() < 0.01)
            print t, "nan nan"
        else
            printf "%d %.2f %.2f\n", t, 17 + 9 * sin(i / 1400) + 2 * sin(i / 3.8), walk + 14 * sin(i / 1390)
    }
}' >"$work/record"

first=
for compiler in gcc clang; do
    command -v "$compiler" >/dev/null || { echo "$compiler is needed for this test" >&2; exit 1; }
    for level in -O0 -O2 -O3; do
        (cd "$work" && "$compiler" -std=c11 -D_POSIX_C_SOURCE=200809L "$level" \
            -ffp-contract=off -I"$root/include" -I"$root/lib" -c "$root"/lib/*.c \
            "$root/tests/support/peer_rows.c" "$root/tests/support/peer_survey.c")
        mv "$work/peer_rows.o" "$work/rows.main"
        mv "$work/peer_survey.o" "$work/survey.main"
        for program in rows survey; do
            cp "$work/$program.main" "$work/main.o"
            "$compiler" "$work"/*.o -lm -o "$work/$program"
        done
        rm "$work"/*.o
        "$work/rows" <"$work/questions" >"$work/answers"
        "$work/survey" 3600 <"$work/record" >>"$work/answers"
        sum=$(sha256sum <"$work/answers")
        echo "$compiler $level: $(wc -l <"$work/answers") answers, ${sum%% *}"
        if [ -z "$first" ]; then
            first=$sum
            cp "$work/answers" "$work/first"
        elif [ "$sum" != "$first" ]; then
            diff "$work/first" "$work/answers" | head -5
            exit 1
        fi
    done
done
