#!/usr/bin/env bash
# Makes the pictures that the README shows, anew: the page on a tablet, the live view in a terminal, the first page of a record.
#
#   tests/pictures.sh [FOLDER]        docs/pictures unless stated
#
# It needs what tests/browser.sh needs, and tmux and pdftoppm (package poppler-utils). Look at the pictures before you commit them.
# Exit status: 0 they are made, 77 they are not, and the reason was said.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "pictures.sh: NOT MADE: $1" >&2
    exit 77
}

command -v tmux >/dev/null || skip "there is no tmux (package tmux)"
command -v pdftoppm >/dev/null || skip "there is no pdftoppm (package poppler-utils)"

mkdir -p "${1:-docs/pictures}"
TO=$(cd "${1:-docs/pictures}" && pwd)
export TO
tests/browser.sh -c pictures.config.js

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
target/debug/conewright demo --fast --to "$work/record.pdf" >/dev/null
pdftoppm -png -r 64 -f 1 -l 1 -singlefile "$work/record.pdf" "$TO/record"
ls -l "$TO"
