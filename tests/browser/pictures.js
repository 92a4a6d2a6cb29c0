// Pictures for the README: the page on a tablet and the live view in a terminal, of the real daemon and a virtual bench.
// `tests/pictures.sh` runs it; TO names the folder.

import { execFileSync } from "node:child_process";
import { expect, test } from "./room.js";

const TO = process.env.TO;
const [COLUMNS, ROWS] = [80, 24];

// A set-up whose turning point is known, and of which half of the last tap is done.
async function half_way(room) {
  await room.session();
  await room.verb("step", "zero");
  const round = async () => {
    for (const x of [0, 80, 0]) {
      await room.tell("at", String(x));
      await room.verb("mark");
    }
  };
  await round();
  await room.tell("follow");
  await round();
}

test("the page on a tablet", async ({ room, page }) => {
  await page.setViewportSize({ width: 1280, height: 800 });
  await half_way(room);
  await page.goto((await room.open()).mark);
  await expect(page.locator("#source-state")).toHaveText("LIVE");
  await expect(page.locator("#values .value").first()).toContainText("settled");
  await expect(page.locator("#plot svg")).toBeVisible();
  await page.screenshot({ path: `${TO}/page.png` });
});

// The 16 colours of a terminal, and what is written with them, as a page: each cell where it stands.
const NAMED = ["#101315", "#e05561", "#5fd787", "#ffc35c", "#6ea8fe", "#d787ff", "#5fd7d7", "#d8d8d0", "#7d858c", "#ff8f88", "#8ff0b0", "#ffe08a", "#a5cbff", "#eab6ff", "#a0f0f0", "#ffffff"];
function colour(codes, otherwise) {
  const code = codes.shift();
  if (code === 5) {
    const n = codes.shift();
    if (n < 16) return NAMED[n];
    if (n > 231) return `rgb(${Array(3).fill(8 + 10 * (n - 232))})`;
    const part = (n) => (n ? 55 + 40 * n : 0);
    return `rgb(${[Math.floor((n - 16) / 36), Math.floor((n - 16) / 6) % 6, (n - 16) % 6].map(part)})`;
  }
  return code === 2 ? `rgb(${codes.splice(0, 3)})` : otherwise;
}

function styled(pen) {
  const [ink, ground] = pen.reverse ? [pen.ground ?? NAMED[0], pen.ink ?? NAMED[7]] : [pen.ink ?? NAMED[7], pen.ground];
  return `color:${ink}${ground ? `;background:${ground}` : ""}${pen.bold ? ";font-weight:700" : ""}${pen.faint ? ";opacity:.6" : ""}`;
}

function drawn(ansi) {
  let pen = {};
  const text = (words) => words.replace(/[&<>]/g, (sign) => `&#${sign.charCodeAt(0)};`);
  const line = (row) => row.split(/(\x1b\[[0-9;]*m)/).map((piece) => {
    const sgr = /^\x1b\[([0-9;]*)m$/.exec(piece);
    if (!sgr) return piece && `<span style="${styled(pen)}">${text(piece)}</span>`;
    const codes = sgr[1].split(";").map(Number);
    while (codes.length) {
      const code = codes.shift();
      if (code === 0) pen = {};
      else if (code === 1) pen.bold = true;
      else if (code === 2) pen.faint = true;
      else if (code === 22) pen.bold = pen.faint = false;
      else if (code === 7 || code === 27) pen.reverse = code === 7;
      else if (code >= 30 && code < 38) pen.ink = NAMED[code - 30];
      else if (code >= 90 && code < 98) pen.ink = NAMED[code - 82];
      else if (code >= 40 && code < 48) pen.ground = NAMED[code - 40];
      else if (code >= 100 && code < 108) pen.ground = NAMED[code - 92];
      else if (code === 38) pen.ink = colour(codes, pen.ink);
      else if (code === 48) pen.ground = colour(codes, pen.ground);
      else if (code === 39) pen.ink = undefined;
      else if (code === 49) pen.ground = undefined;
    }
    return "";
  }).join("");
  const style = `margin:0;padding:12px 14px;background:${NAMED[0]};font:16.61px/19px "DejaVu Sans Mono",monospace;width:max-content`;
  return `<!doctype html><meta charset="utf-8"><body style="margin:0"><pre style='${style}'>${ansi.split("\n").map(line).join("\n")}</pre>`;
}

test("the live view in a terminal", async ({ room, page }) => {
  await half_way(room);
  const { words, environment } = await room.tell("reach");
  const name = `conewright-${process.pid}`;
  const tmux = (...args) => execFileSync("tmux", ["-L", name, "-f", "/dev/null", ...args], { env: { ...process.env, ...environment, TERM: "xterm-256color", LC_ALL: "C.UTF-8" }, encoding: "utf8" });
  const given = Object.entries(environment).flatMap(([name, value]) => ["-e", `${name}=${value}`]);
  tmux("new-session", "-d", "-x", String(COLUMNS), "-y", String(ROWS), ...given, "-e", "COLORTERM=truecolor", ...words, "watch");
  try {
    await expect.poll(() => tmux("capture-pane", "-p")).toMatch(/LIVE[\s\S]*settled/);
    const ansi = tmux("capture-pane", "-p", "-e").replace(/\n+$/, "");
    await page.setContent(drawn(ansi));
    await page.locator("pre").screenshot({ path: `${TO}/watch.png` });
  } finally { tmux("kill-server"); }
});
