# packages.sh - sourced by contrib/demo and contrib/check: installs Debian packages that are
# missing, by apt-get, with sudo only where we are not root. It says what and why.
#
# A need is "PACKAGE KIND WHAT": command NAME on the path, module NAME of pkg-config, file PATH,
# or package, which asks dpkg.

# shellcheck shell=bash disable=SC2034 # the lists are for those who source this
build_needs=(
    "cmake command cmake" "ninja-build command ninja" "gcc command gcc"
    "pkg-config command pkg-config" "nodejs command node" "npm command npm"
    "libmodbus-dev module libmodbus" "libmicrohttpd-dev module libmicrohttpd"
    "libsqlite3-dev module sqlite3" "libsodium-dev module libsodium"
    "libjansson-dev module jansson" "libinih-dev module inih" "zlib1g-dev module zlib"
    "libsystemd-dev module libsystemd" "libcurl4-openssl-dev module libcurl"
    "libc6-dev file /usr/include/stdio.h"
    "tzdata file /usr/share/zoneinfo/Europe/London"
)
test_needs=(
    "libcmocka-dev module cmocka" "clang command clang" "libclang-rt-14-dev package -"
    "clang-format command clang-format" "cppcheck command cppcheck"
    "shellcheck command shellcheck" "sqlite3 command sqlite3" "openssl command openssl"
    "curl command curl" "socat command socat" "mbpoll command mbpoll" "git command git"
    "chromium command chromium" "man-db command man" "systemd command systemd-analyze"
    "python3 file /usr/bin/python3" "python3-pymodbus package -" "python3-serial package -"
    "python3-serial-asyncio package -"
    "python3-numpy package -" "python3-scipy package -" "python3-pandas package -"
    "python3-iapws package -" "python3-aiosmtpd package -" "python3-jsonschema package -"
    "python3-prometheus-client package -" "fonts-dejavu-core package -"
)

missing_packages() {
    local need package kind what
    for need in "$@"; do
        read -r package kind what <<<"$need"
        case $kind in
        command) command -v "$what" >/dev/null || printf '%s\n' "$package" ;;
        module) pkg-config --exists "$what" 2>/dev/null || printf '%s\n' "$package" ;;
        file) [[ -e $what ]] || printf '%s\n' "$package" ;;
        package) dpkg-query -W -f '${Status}' "$package" 2>/dev/null |
            grep -q 'ok installed' || printf '%s\n' "$package" ;;
        esac
    done
}

# install_packages WHY NEED...: 4 if that cannot be done, with one line that says why.
install_packages() {
    local why=$1 missing
    shift
    mapfile -t missing < <(missing_packages "$@")
    ((${#missing[@]} > 0)) || return 0
    if ! command -v apt-get >/dev/null; then
        printf 'these are missing, and there is no apt-get to install them: %s\n' \
            "${missing[*]}" >&2
        return 4
    fi
    local as_root=()
    if ((EUID != 0)); then
        if ! command -v sudo >/dev/null; then
            printf 'as root, first: apt-get install %s (there is no sudo here)\n' \
                "${missing[*]}" >&2
            return 4
        fi
        as_root=(sudo)
        printf 'sudo is used once, to install Debian packages that %s.\n' "$why"
    fi
    printf 'Installing Debian packages that %s: %s\n' "$why" "${missing[*]}"
    "${as_root[@]}" apt-get update -q >&2 || return 4
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get install -y -q \
        --no-install-recommends "${missing[@]}" >&2 || return 4
}
