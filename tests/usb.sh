#!/usr/bin/env bash
# The cables and the pedal against the kernel's own drivers: adapters and a keyboard are plugged and pulled in a
# guest while the program runs there.
#
#   tests/usb.sh [short|long|NAME]          short is what .ci/run runs; NAME is one scenario of tests/usb/scenarios.py
#
# It needs the bench, a script that boots such a guest: CONEWRIGHT_USBBENCH names it, else it is looked for beside the
# checkout. The bench needs qemu-system-x86, busybox-static and kmod, and a kernel of 70 MB from the archive, once, in
# USBBENCH_CACHE. With CONEWRIGHT_USBBENCH_INSTALL=1 missing packages are installed, where that is permitted.
#
# Exit status: 0 every scenario passed, 1 one failed, 77 nothing was checked, and the reason was said. Nothing else
# depends on this.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "usb.sh: NOT CHECKED: the USB scenarios did not run: $1" >&2
    exit 77
}

bench=${CONEWRIGHT_USBBENCH:-../shared/usbbench/usbbench.py}
[ -f "$bench" ] || skip "there is no bench at $bench (CONEWRIGHT_USBBENCH names another)"
export USBBENCH_CACHE=${USBBENCH_CACHE:-${XDG_CACHE_HOME:-$HOME/.cache}/usbbench}
# An ordinary user's PATH lacks the folder of depmod.
PATH=$PATH:/usr/sbin:/sbin

lacking() {
    for tool in python3 qemu-system-x86_64 depmod apt-get; do
        command -v "$tool" >/dev/null || echo "$tool"
    done
    [ -x /bin/busybox ] || echo /bin/busybox
}

install_packages() {
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || return 1
        as_root=(sudo -n)
    fi
    export DEBIAN_FRONTEND=noninteractive
    timeout 90 "${as_root[@]}" apt-get update -qq >/dev/null &&
        timeout 240 "${as_root[@]}" apt-get install -y -qq --no-install-recommends \
            python3 qemu-system-x86 busybox-static kmod >/dev/null
}

if [ -n "$(lacking)" ] && [ "${CONEWRIGHT_USBBENCH_INSTALL:-}" = 1 ]; then
    install_packages || skip "its packages could not be installed (qemu-system-x86 busybox-static kmod)"
fi
missing=$(lacking | tr '\n' ' ')
[ -z "$missing" ] || skip "missing here: $missing(packages qemu-system-x86 busybox-static kmod)"
timeout 300 python3 "$bench" setup || skip "the guest's kernel could not be had (above)"

# The bench takes the libraries along that a program needs, so that the usual build will do. What is written into the
# guest's memory is stripped: debug information would be most of it.
cargo build --quiet --locked -p conewright
cargo build --quiet --locked -p conewright-daemon --example cable_log
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
for program in target/debug/examples/cable_log target/debug/conewright; do
    strip -o "$work/$(basename "$program")" "$program" 2>/dev/null || cp "$program" "$work/"
done

status=0
python3 tests/usb/scenarios.py "$bench" "$work" "${1:-short}" || status=$?
[ "$status" -ne 2 ] || skip "the bench cannot run here (above)"
exit "$status"
