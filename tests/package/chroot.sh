#!/bin/bash
# Within the fresh Debian: the package is installed, tried as an ordinary user, and removed.
set -euo pipefail

fail() {
    echo "FAILED: $1" >&2
    exit 1
}

dpkg --install /package.deb >/dev/null
useradd --create-home --shell /bin/bash tester
as_user() {
    chroot --userspec=tester --skip-chdir / env -i HOME=/home/tester PATH=/usr/bin:/bin "$@"
}
cd /home/tester
as_user conewright --version
as_user conewright demo --fast --to /home/tester/seat.json >/dev/null
as_user conewright verify /home/tester/seat.json >/dev/null
as_user conewright session open seat --taper 1:12 --length 30 --span 80 --resolution 0.001 --cable typed >/dev/null
as_user conewright daemon stop
data=/home/tester/.local/share/conewright/conewright.db
[ -s "$data" ] || fail "no data at $data"

bash -n /usr/share/bash-completion/completions/conewright
for file in /usr/share/zsh/vendor-completions/_conewright /usr/share/fish/vendor_completions.d/conewright.fish \
    /usr/lib/udev/rules.d/70-conewright.rules; do
    grep -q -i conewright "$file" || fail "$file"
done
# minbase leaves documents out, so they are looked for in the package.
files=$(mktemp)
copyright=$(mktemp)
dpkg-deb --fsys-tarfile /package.deb >"$files"
for file in usr/share/man/man1/conewright.1.gz usr/share/doc/conewright/copyright; do
    tar -tf "$files" "./$file" >/dev/null || fail "$file is not in the package"
done
tar -xOf "$files" ./usr/share/doc/conewright/copyright >"$copyright"
grep -q 'Apache License' "$copyright" || fail "no licence texts"
# It complains of what it does not know in a unit, and of nothing else here.
warnings=$(XDG_RUNTIME_DIR=/run systemd-analyze verify --user --man=no /usr/lib/systemd/user/conewright.service 2>&1 |
    grep conewright || true)
[ -z "$warnings" ] || fail "the unit: $warnings"

dpkg --remove conewright >/dev/null
[ ! -e /usr/bin/conewright ] && [ ! -e /usr/lib/systemd/user/conewright.service ] || fail "files are left"
[ -s "$data" ] || fail "the data is gone"
# For what follows.
dpkg --install /package.deb >/dev/null
echo "CHROOT: passed"
