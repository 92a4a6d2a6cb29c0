// A toolroom for a browser test: the real daemon with a virtual bench, and its page in Chromium.

import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { expect, test as base } from "@playwright/test";
import { AxeBuilder } from "@axe-core/playwright";

const BENCH = process.env.CONEWRIGHT_BENCH ?? new URL("../../target/debug/page_bench", import.meta.url).pathname;

export class Room {
  constructor(readings = 0, language = "en") {
    this.process = spawn(BENCH, ["mm", String(readings), language], { stdio: ["pipe", "pipe", "inherit"] });
    this.waiting = [];
    createInterface({ input: this.process.stdout }).on("line", (line) => this.waiting.shift()(JSON.parse(line)));
    this.ended = new Promise((resolve) => this.process.on("exit", resolve));
  }
  // One command to the bench.
  tell(...words) {
    this.process.stdin.write(`${words.join("\t")}\n`);
    return new Promise((resolve) => this.waiting.push(resolve));
  }
  verb(...args) { return this.tell("verb", ...args); }
  // Opens the page; gives its links.
  async open(...more) {
    const state = await this.verb("page", "on", "--port", "0", ...more);
    this.links = { mark: state.mark_links?.[0], view: state.view_links?.[0] };
    return this.links;
  }
  session(...more) {
    return this.verb("session", "open", "spindle 7", "--taper", "1:12", "--length", "30", "--tolerance", "5arcsec", "--bar", "100", "--bar-kind", "sine", "--kit", "metric-88", "--span=80", "--fixture", "plate", "--big-end", "A", "--indicator-side", "wheel", ...more);
  }
  async end() {
    this.process.stdin.end();
    await this.ended;
  }
}

export const test = base.extend({
  // Readings of a session that is there before the daemon starts.
  readings: [0, { option: true }],
  language: ["en", { option: true }],
  room: async ({ readings, language }, use) => {
    const room = new Room(readings, language);
    await use(room);
    await room.end();
  },
});
export { expect };

export const WAIT = 1100; // The page takes the same button again after a second.

// Presses a button of the page and waits for what it says.
export async function press(page, id, said) {
  await page.waitForTimeout(WAIT);
  await page.locator(`#${id}`).click();
  if (said) await page.locator("#message", { hasText: said }).waitFor();
}

// Picks a kind of step in the menu; its form is open then.
export async function pick(page, word) {
  await press(page, "next");
  await page.locator("#picks button", { hasText: word }).click();
  await expect(page.locator("#step")).toBeVisible();
}

// One round A B A, marked on the page.
export async function round(page, room, before) {
  let mark = before;
  for (const x of [0, 80, 0]) {
    await room.tell("at", String(x));
    mark += 1;
    await press(page, "mark", `mark ${mark},`);
    // The answer comes before the frame that shows what follows from the mark.
    await page.locator("#facts", { hasText: `mark ${mark},` }).waitFor();
  }
  return mark;
}

export async function accessible(page, expect) {
  const { violations } = await new AxeBuilder({ page }).analyze();
  expect(violations.map((v) => [v.id, v.nodes.map((n) => `${n.target} ${n.failureSummary}`)])).toEqual([]);
}

// What the page logged: an error of a script, or something that the content policy forbade.
export function complaints(page) {
  const all = [];
  page.on("pageerror", (error) => all.push(String(error)));
  page.on("console", (line) => { if (line.type() === "error") all.push(line.text()); });
  return all;
}
