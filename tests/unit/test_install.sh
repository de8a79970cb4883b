#!/usr/bin/env bash
# The installed library serves a program of somebody else's: headers, pkg-config, both kinds.
# Argument: the build folder.
set -euo pipefail
build=$1
place=$(mktemp -d)
trap 'rm -rf "$place"' EXIT

cmake --install "$build" --prefix "$place/usr" >"$place/log" 2>&1 || {
    cat "$place/log"
    exit 1
}
pc=$(find "$place" -name stillroom.pc)
libdir=$(dirname "$(dirname "$pc")")
cat >"$place/other.c" <<'EOF'
#include <stdio.h>
#include <stillroom/psychro.h>

int main(void)
{
    double dew_c;
    if (sr_psychro_dew_point(20, 50, &dew_c) != SR_OK)
        return 1;
    printf("%.2f\n", dew_c);
    return 0;
}
EOF
# A build with sanitizers makes a library that needs their runtime.
sanitize=$(sed -n 's/^STILLROOM_SANITIZE:[A-Z]*=//p' "$build/CMakeCache.txt")
compiler=$(sed -n 's/^CMAKE_C_COMPILER:[A-Z]*=//p' "$build/CMakeCache.txt")
flags=(-std=c11 -Wall -Wextra -Werror ${sanitize:+-fsanitize="$sanitize"})
export PKG_CONFIG_PATH=${pc%/*}
read -r -a cflags <<<"$(pkg-config --define-variable=prefix="$place/usr" --cflags stillroom)"
read -r -a shared <<<"$(pkg-config --define-variable=prefix="$place/usr" --libs stillroom)"
"$compiler" "${flags[@]}" "${cflags[@]}" "$place/other.c" -o "$place/shared" "${shared[@]}"
"$compiler" "${flags[@]}" "${cflags[@]}" "$place/other.c" -o "$place/static" \
    "$libdir/libstillroom.a" -lm

# ASHRAE Fundamentals ch. 1, recomputed: 9.27 degC at 20 degC and 50 %.
for kind in shared static; do
    said=$(LD_LIBRARY_PATH=$libdir "$place/$kind")
    [[ $said == 9.27 ]] || {
        echo "$kind: the dew point at 20 degC, 50 % came out as $said, not 9.27"
        exit 1
    }
done
for header in "$place"/usr/include/stillroom/*.h; do
    printf '#include <stillroom/%s>\n' "${header##*/}" |
        "$compiler" -std=c11 -Wall -Werror -fsyntax-only -I "$place/usr/include" -x c - || {
        echo "${header##*/} does not stand alone"
        exit 1
    }
done
for program in bin/stillroom sbin/stillroomd; do
    "$place/usr/$program" --version >/dev/null || exit 1
done
