#!/usr/bin/env bash
# The live page in a real browser: the real daemon with a virtual bench, driven by Playwright in Chromium.
#
#   tests/browser.sh [ARGUMENTS OF PLAYWRIGHT...]      such as -g keyboard
#
# It needs Node.js with npm and Chromium. CONEWRIGHT_CHROMIUM names a browser in another place. With
# CONEWRIGHT_BROWSER_INSTALL=1 Chromium is installed from the system's packages, where that is permitted.
# CONEWRIGHT_PICTURES names a folder for pictures of the screens. Playwright itself comes from the registry into
# tests/browser/node_modules, without a browser of its own.
#
# Exit status: 0 every test passed, 1 one failed, 77 nothing was checked, and the reason was said. Nothing else depends on this.
set -euo pipefail
cd "$(dirname "$0")/.."

skip() {
    echo "browser.sh: NOT CHECKED: the browser tests did not run: $1" >&2
    exit 77
}

command -v node >/dev/null || skip "there is no Node.js (package nodejs)"
command -v npm >/dev/null || skip "there is no npm (package npm)"

install_chromium() {
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        sudo -n true 2>/dev/null || return 1
        as_root=(sudo -n)
    fi
    export DEBIAN_FRONTEND=noninteractive
    timeout 90 "${as_root[@]}" apt-get update -qq >/dev/null &&
        timeout 600 "${as_root[@]}" apt-get install -y -qq --no-install-recommends chromium fonts-dejavu-core >/dev/null
}

chromium=${CONEWRIGHT_CHROMIUM:-$(command -v chromium || command -v chromium-browser || true)}
if [ -z "$chromium" ] && [ "${CONEWRIGHT_BROWSER_INSTALL:-}" = 1 ]; then
    install_chromium || skip "Chromium could not be installed (package chromium)"
    chromium=$(command -v chromium || true)
fi
[ -x "$chromium" ] || skip "there is no Chromium (package chromium; CONEWRIGHT_CHROMIUM names another place)"
export CONEWRIGHT_CHROMIUM=$chromium

export PLAYWRIGHT_SKIP_BROWSER_DOWNLOAD=1
(cd tests/browser && timeout 300 npm ci --silent --ignore-scripts) || skip "Playwright could not be had from the registry (above)"

cargo build --quiet --locked --workspace --bins
cd tests/browser
npx --no-install playwright test "$@"
