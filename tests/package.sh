#!/usr/bin/env bash
# The static executable in an empty root. The Debian package in a fresh Debian: installed, tried as an ordinary user, removed, the data
# left. Then its service, and `conewright service`, in a guest that boots systemd.
#
#   tests/package.sh [FILE.deb]             else the one that cli/package/release made
#
# It needs root, mmdebstrap and Debian's archive as apt of this machine knows it; the guest needs qemu-system-x86, cpio and a
# kernel: CONEWRIGHT_KERNEL, else that of the USB bench or of /boot. CONEWRIGHT_PACKAGE_BASE names a folder with a fresh Debian that
# was made before, and is copied.
#
# Exit status: 0 all passed, 1 something failed, 77 nothing or not all was checked, and the reason was said.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "package.sh: NOT CHECKED: $1" >&2
    exit 77
}

deb=${1:-}
# The folder is not there before a release was made, and `find` then fails.
[ -n "$deb" ] || deb=$(find target/package/out -name '*.deb' 2>/dev/null | head -n 1) || true
[ -f "$deb" ] || skip "there is no package; cli/package/release makes it"
[ "$(id -u)" -eq 0 ] || skip "a fresh Debian needs root"
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

archive=$(find "$(dirname "$deb")" -name '*-static.tar.gz' | head -n 1)
in_an_empty_root() {
    echo "package.sh: the static executable in an empty root"
    local empty=$work/empty
    mkdir -p "$empty"/{proc,dev,tmp,home}
    tar -xOf "$archive" --wildcards '*/conewright' >"$empty/conewright"
    chmod 755 "$empty/conewright"
    # Nothing else is in there: no C library, no shell, no list of users. Whatever is mounted is so for this one command.
    alone() {
        unshare --mount --pid --fork bash -c '
            mount -t proc proc "$1/proc" && mount --rbind /dev "$1/dev" && cd "$1" && shift &&
                exec env -i HOME=/home TMPDIR=/tmp "$(command -v chroot)" . /conewright "$@"' _ "$empty" "$@"
    }
    alone demo --fast --to /home/seat.json >/dev/null
    alone verify /home/seat.json >/dev/null
    alone cable list >/dev/null
    alone session open seat --taper 1:12 --length 30 --span 80 --resolution 0.001 --cable typed >/dev/null
    alone page on >/dev/null
    [ -s "$empty/home/.local/share/conewright/conewright.db" ] || {
        echo "package.sh: FAILED: no data in the empty root" >&2
        exit 1
    }
}
# Not behind `||`: a command that fails in there must end this.
if [ -f "$archive" ]; then
    in_an_empty_root
fi

command -v mmdebstrap >/dev/null || skip "missing here: mmdebstrap"
for sources in /etc/apt/sources.list.d/debian.sources /etc/apt/sources.list; do
    [ ! -s "$sources" ] || break
done
[ -s "$sources" ] || skip "apt of this machine knows no archive of Debian"

root=$work/root
# shellcheck disable=SC1091
suite=$(. /etc/os-release && echo "$VERSION_CODENAME")
apt-config dump Acquire >"$work/apt.conf"
if [ -n "${CONEWRIGHT_PACKAGE_BASE:-}" ]; then
    cp -a "$CONEWRIGHT_PACKAGE_BASE" "$root"
else
    # What it mounts is seen by nothing else: interrupted, this must not remove anything through a mount.
    timeout 420 unshare --mount mmdebstrap --quiet --variant=minbase --aptopt="$work/apt.conf" \
        --include=systemd-sysv,dbus-user-session,libpam-systemd,udev "$suite" "$root" "$sources" ||
        skip "no fresh Debian could be had (above)"
fi
cp "$deb" "$root/package.deb"
cp tests/package/*.sh "$root/"

echo "package.sh: in a fresh Debian"
# Whatever is mounted is so for this one command.
unshare --mount --pid --fork bash -c '
    mount -t proc proc "$1/proc" && mount --rbind /dev "$1/dev" && exec chroot "$1" /bin/bash /chroot.sh' _ "$root"

for kernel in "${CONEWRIGHT_KERNEL:-}" "${USBBENCH_CACHE:-$HOME/.cache/usbbench}"/kernel/boot/vmlinuz-* /boot/vmlinuz-*; do
    [ ! -f "$kernel" ] || break
done
[ -f "$kernel" ] || skip "the service was not tried: there is no kernel for a guest (CONEWRIGHT_KERNEL names one)"
for tool in qemu-system-x86_64 cpio; do
    command -v "$tool" >/dev/null || skip "the service was not tried: missing here: $tool"
done

echo "package.sh: the service in a guest"
cp tests/package/guest.service "$root/etc/systemd/system/"
ln -s /etc/systemd/system/guest.service "$root/etc/systemd/system/multi-user.target.wants/guest.service"
ln -sf /dev/null "$root/etc/systemd/system/serial-getty@ttyS0.service"
# A file system of its own: namespaces cannot be made on the one that the kernel unpacks into.
cat >"$root/init" <<'INIT'
#!/bin/bash
mount -t tmpfs -o size=90%,mode=755 tmpfs /mnt
cp -a /bin /etc /home /lib* /opt /root /sbin /srv /usr /var /package.deb /*.sh /mnt/
mkdir /mnt/{dev,proc,sys,run,tmp,mnt} && chmod 1777 /mnt/tmp
exec switch_root /mnt /sbin/init
INIT
chmod +x "$root/init"
(cd "$root" && find . -mindepth 1 \( -path ./proc/\* -o -path ./dev/\* -o -path ./usr/share/doc/\* -o -path ./usr/share/locale/\* \) -prune -o -print0 |
    cpio --quiet --null --create --format=newc >"$work/initrd")
timeout 900 qemu-system-x86_64 -m 2048 -smp 2 -nographic -no-reboot -nic none -monitor none -serial "file:$work/said" -serial null \
    -kernel "$kernel" -initrd "$work/initrd" -append "console=ttyS0 quiet panic=-1 systemd.show_status=no" </dev/null || true
tr -d '\r' <"$work/said" | tail -n 60
# The console sets the time and the program before each line.
grep -q 'GUEST: passed$' <(tr -d '\r' <"$work/said") || {
    echo "package.sh: FAILED in the guest (above)" >&2
    exit 1
}
[ -f "$archive" ] || skip "the rest passed; there is no static archive beside $deb, which cli/package/release makes"
echo "package.sh: all passed"
