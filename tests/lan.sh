#!/usr/bin/env bash
# The live page from another machine of the shop's network: two network namespaces with a cable between them, made here and
# removed at the end. The daemon runs in one, curl in the other. Nothing leaves this computer.
#
#   tests/lan.sh
#
# It needs root, `ip` (package iproute2) and curl. Exit status: 0 all is as it should be, 1 it is not, 77 nothing was checked, and
# the reason was said.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "lan.sh: NOT CHECKED: the page was not tried from another machine: $1" >&2
    exit 77
}

[ "$(id -u)" -eq 0 ] || skip "network namespaces need root"
command -v ip >/dev/null || skip "there is no ip (package iproute2)"
command -v curl >/dev/null || skip "there is no curl (package curl)"

shop=conewright-shop-$$
tablet=conewright-tablet-$$
work=$(mktemp -d)
program=${CONEWRIGHT_PROGRAM:-$PWD/target/debug/conewright}

in_shop() {
    ip netns exec "$shop" env -i PATH="$PATH" HOME="$work" "$program" --data "$work/data" --socket "$work/socket" --json "$@"
}

end() {
    [ ! -S "$work/socket" ] || in_shop daemon stop >/dev/null || true
    ip netns delete "$shop" 2>/dev/null || true
    ip netns delete "$tablet" 2>/dev/null || true
    rm -rf "$work"
}
trap end EXIT

{ ip netns add "$shop" && ip netns add "$tablet"; } 2>"$work/why" || skip "no network namespace can be made here: $(cat "$work/why")"
ip -n "$shop" link add eth0 type veth peer name eth0 netns "$tablet" 2>"$work/why" || skip "no cable can be laid between two namespaces: $(cat "$work/why")"
ip -n "$shop" address add 10.97.3.1/30 dev eth0
ip -n "$tablet" address add 10.97.3.2/30 dev eth0
for one in "$shop" "$tablet"; do
    ip -n "$one" link set lo up
    ip -n "$one" link set eth0 up
done

[ -n "${CONEWRIGHT_PROGRAM:-}" ] || cargo build --quiet --locked --bin conewright

checked=0
# What was found, what must be, and what it is.
is() {
    [ "$1" = "$2" ] || { echo "lan.sh: $3: $1, expected $2" >&2; exit 1; }
    checked=$((checked + 1))
}

# Asks from the tablet; prints the status, or `none` where there is no connection. The body goes to a file.
ask() {
    ip netns exec "$tablet" curl --silent --noproxy '*' --max-time 20 --output "$work/body" --write-out '%{http_code}' \
        --cookie "$work/cookies" --cookie-jar "$work/cookies" "$@" || echo none
}

links() {
    in_shop page on --port 0 "$@" | tee "$work/links" | grep -o '"http:[^"]*"' | head -n 1 | tr -d '"'
}

link=$(links --lan)
origin=${link%%/#*}
token=${link##*#}
case $origin in
    http://10.97.3.1:*) ;;
    *) echo "lan.sh: the link names $origin, and the shop's address is 10.97.3.1" >&2; exit 1 ;;
esac
port=${origin##*:}
json=(--header 'content-type: application/json')
enter() { ask "${json[@]}" --header "origin: ${2:-$origin}" --data "{\"token\":\"$1\"}" "$origin/page/enter"; }

is "$(ask "$origin/")" 200 "the page itself"
is "$(ask "$origin/v1/status")" 401 "the status without a link"
is "$(enter 00112233445566778899aabbccddeeff)" 403 "a secret that was guessed"
is "$(enter "$token" "http://bench.example")" 403 "a link that another site presents"
is "$(enter "$token")" 200 "the link"
is "$(ask "$origin/v1/status")" 200 "the status with the link"
for host in "bench.example:$port" "127.0.0.1:$port" "localhost:$port" "10.97.3.2:$port" "10.97.3.1"; do
    is "$(ask --header "host: $host" "$origin/v1/status")" 403 "the host $host"
done

in_shop session open "spindle 7" --span=80 --cable typed --resolution 0.001 >/dev/null
in_shop step zero >/dev/null
mark() { ask "${json[@]}" --header "idempotency-key: $1" "${@:2}" --data '{"value":"0.010"}' "$origin/v1/marks"; }
is "$(mark 00000001)" 403 "a mark that does not say where it comes from"
is "$(mark 00000002 --header 'origin: http://bench.example')" 403 "a mark from another site"
is "$(mark 00000003 --header "origin: $origin")" 200 "a mark from the tablet"
is "$(mark 00000003 --header "origin: $origin")" 200 "the same mark, sent again"
is "$(in_shop status | grep -c '"value_mm"')" 1 "how many marks were made"

# For this computer alone: nobody answers the tablet. And a page that was opened anew knows no old link.
own=$(links)
is "${own%%:[0-9]*}" "http://127.0.0.1" "the link for this computer alone"
port=${own%%/#*}
port=${port##*:}
is "$(ask "http://10.97.3.1:$port/")" 000none "the page for this computer alone, from the tablet"
link=$(links --lan)
origin=${link%%/#*}
is "$(ask "$origin/v1/status")" 401 "an old link"
in_shop page off >/dev/null
is "$(ask "$origin/")" 000none "a page that was closed"
echo "lan.sh: $checked checks passed, from a machine of its own at 10.97.3.2"
