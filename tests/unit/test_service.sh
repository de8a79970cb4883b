#!/bin/bash
# The systemd unit stays hardened (exposure 2.0 or less) and keeps what the daemon needs.
set -euo pipefail
unit=contrib/systemd/stillroomd.service
bar=2.0
failed=0

if ! command -v systemd-analyze >/dev/null; then
    echo "systemd-analyze is not installed: skipped"
    exit 77
fi

# The figure at the end of "Overall exposure level for NAME: 1.9 OK".
exposure() {
    systemd-analyze security --offline=true --no-pager "$1" |
        sed -n 's/.*Overall exposure level for [^:]*: \([0-9.]*\) .*/\1/p'
}

above_bar() {
    awk -v got="$1" -v bar="$bar" 'BEGIN { exit !(got + 0 > bar + 0) }'
}

got=$(exposure "$unit")
if [ -z "$got" ]; then
    echo "systemd-analyze gives no figure for $unit"
    failed=1
elif above_bar "$got"; then
    echo "$unit: exposure $got, bar $bar:"
    systemd-analyze security --offline=true --no-pager "$unit" | grep '✗'
    failed=1
else
    echo "$unit: exposure $got, bar $bar"
fi

# The bar must be one that a softened unit does not pass.
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
grep -vE '^(SystemCallFilter|CapabilityBoundingSet|ProtectSystem)=' "$unit" \
    >"$scratch/stillroomd.service"
soft=$(exposure "$scratch/stillroomd.service")
if [ -z "$soft" ] || ! above_bar "$soft"; then
    echo "a unit without its call filter passes the bar (${soft:-no figure}): the test is blind"
    failed=1
fi

# What hardening must not take away.
while read -r line; do
    if ! grep -qxF "$line" "$unit"; then
        echo "$unit: lacks $line"
        failed=1
    fi
done <<'END'
Type=notify
ExecReload=/bin/kill -HUP $MAINPID
StateDirectory=stillroom
SupplementaryGroups=dialout
DeviceAllow=char-ttyUSB rw
DeviceAllow=char-ttyACM rw
DeviceAllow=char-ttyS rw
RestrictAddressFamilies=AF_INET AF_INET6 AF_UNIX
END
if ! grep -qE '^WatchdogSec=[0-9]+$' "$unit"; then
    echo "$unit: lacks WatchdogSec="
    failed=1
fi
if grep -qE '^(PrivateDevices|ProtectClock|PrivateNetwork)=yes' "$unit"; then
    echo "$unit: takes away serial ports, the question who keeps the clock, or the network"
    failed=1
fi
exit $failed
