#!/bin/bash
# Within the guest: the service of the package, then `conewright service`, as an ordinary user with systemd of his own.
set -uo pipefail
user=$(id -u tester)
as_user() {
    runuser -u tester -- env -i HOME=/home/tester PATH=/usr/bin:/bin XDG_RUNTIME_DIR="/run/user/$user" "$@"
}

fail() {
    echo "GUEST: FAILED: $1"
    as_user systemctl --user --no-pager --full status conewright.service conewright.socket
    journalctl --no-pager --lines 40
    exit 1
}

# Waits for a state of the service, with a deadline.
reaches() {
    for _ in $(seq 300); do
        [ "$(as_user systemctl --user show "$1" --property="$2" --value)" = "$3" ] && return 0
        sleep 0.2
    done
    fail "$1 does not reach $2=$3"
}

out=$(mktemp)
try() { as_user "$@" >"$out" 2>&1 || { cat "$out"; fail "$*"; }; }

main_pid() { as_user systemctl --user show conewright.service --property=MainPID --value; }

limited() {
    grep -q '^NoNewPrivs:\s*1' "/proc/$1/status" && grep -q '^Seccomp:\s*2' "/proc/$1/status" || fail "its limits do not hold"
    # Root, in the daemon's name space: what is mounted read-only is so to root as well.
    ! nsenter --mount --target "$1" touch /home/tester/probe 2>/dev/null || fail "it may write into the home"
    nsenter --mount --target "$1" touch /home/tester/.local/share/conewright/probe || fail "its data is not writable"
}

usermod --append --groups dialout tester
as_user mkdir -p /home/tester/.config/conewright
printf '[cable.bench]\nport = "/dev/ttyS1"\nsettings = "9600 8N1"\ncadence = "press"\nframe = "text"\nunit = "mm"\nresolution = "0.001mm"\n' \
    >/home/tester/.config/conewright/conewright.toml
loginctl enable-linger tester || fail "no linger"
systemctl start "user@$user.service" || fail "no manager for the user"
rm -rf /home/tester/.local
# A serial port that is open to the user by a group alone, which its name space does not know.
chgrp dialout /dev/ttyS1 && chmod 660 /dev/ttyS1
cd /home/tester

echo "GUEST: the package's service"
try systemctl --user enable --now conewright.socket conewright.service
reaches conewright.service ActiveState active
limited "$(main_pid)"
for _ in $(seq 50); do
    try conewright --json status
    ! grep -q '"state": "quiet"' "$out" || break
    sleep 0.2
done
grep -q '"state": "quiet"' "$out" || fail "the cable is not open: $(cat "$out")"
try conewright session open seat --taper 1:12 --length 30 --span 80 --resolution 0.001 --cable typed
try conewright step zero
try conewright mark A --value 0.01
try conewright page on
try conewright page off
first=$(main_pid)
kill -KILL "$first"
reaches conewright.service NRestarts 1
reaches conewright.service ActiveState active
try conewright session show
grep -q seat "$out" || fail "the session is not there after a kill"
try conewright daemon stop
reaches conewright.service ActiveState inactive
try conewright status
reaches conewright.service ActiveState active
try systemctl --user disable --now conewright.socket conewright.service

echo "GUEST: conewright service"
try mkdir -p /home/tester/bin
try cp /usr/bin/conewright /home/tester/bin/conewright
try /home/tester/bin/conewright status
try /home/tester/bin/conewright service install
reaches conewright.service ActiveState active
limited "$(main_pid)"
[ "$(readlink "/proc/$(main_pid)/exe")" = /home/tester/bin/conewright ] || fail "it runs another executable"
try /home/tester/bin/conewright service status
grep -q 'active, enabled' "$out" || fail "status: $(cat "$out")"
try /home/tester/bin/conewright session show
try /home/tester/bin/conewright service remove
[ ! -e /home/tester/.config/systemd/user/conewright.service ] || fail "the unit is left"
[ -s /home/tester/.local/share/conewright/conewright.db ] || fail "the data is gone"
echo "GUEST: passed"
