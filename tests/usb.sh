#!/usr/bin/env bash
# The cables against the kernel's own USB serial drivers: adapters are plugged and pulled in a guest while the
# daemon's cable tasks run there.
#
#   CONEWRIGHT_USBBENCH=/path/to/usbbench.py tests/usb.sh [short|long|NAME]
#
# It needs the bench (a script that boots such a guest) and what the bench needs: qemu-system-x86,
# busybox-static and kmod. Without them it says so, and exits 0: nothing was checked, and nothing else depends on it.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "usb.sh: NOT CHECKED: $1" >&2
    exit 0
}

bench=${CONEWRIGHT_USBBENCH:-}
[ -n "$bench" ] || skip "CONEWRIGHT_USBBENCH does not name the bench"
[ -f "$bench" ] || skip "there is no bench at $bench"
for tool in python3 qemu-system-x86_64 modprobe; do
    command -v "$tool" >/dev/null || skip "there is no $tool here"
done

# Static, so that the guest needs no libraries; apart, so that the flags do not rebuild everything else.
target=$(rustc -vV | sed -n 's/^host: //p')
RUSTFLAGS='-C target-feature=+crt-static' cargo build --quiet -p conewright-daemon --example cable_log \
    --target "$target" --target-dir target/usb
program=target/usb/$target/debug/examples/cable_log

status=0
python3 tests/usb/scenarios.py "$bench" "$program" "${1:-short}" || status=$?
[ "$status" -ne 2 ] || skip "the bench cannot run here (above)"
exit "$status"
