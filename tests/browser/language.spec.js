// The live page in another language: German, whose words are longer than the English ones.

import { accessible, complaints, expect, press, test } from "./room.js";

test.use({ language: "de" });

// What is seen and was written by the project: the name of the part and of its fixture are the user's, and a key is a key.
const seen = (page) => page.evaluate(() => document.body.innerText.replaceAll(/spindle 7|plate|bench/g, ""));

const ENGLISH = /\b(the|and|of|mark|round|reading|session|step|not|loose|next|is|clamp|back)\b/i;

// Nothing stands out of the window, and no word out of its button.
const tooWide = (page) => page.evaluate(() => {
  const wide = [...document.querySelectorAll("button")].filter((one) => one.scrollWidth > one.clientWidth + 1).map((one) => one.textContent);
  return document.documentElement.scrollWidth > innerWidth ? ["the window", ...wide] : wide;
});

for (const [name, size] of [["a tablet", { width: 1280, height: 800 }], ["a telephone", { width: 390, height: 844 }]]) {
  test(`on ${name} the page is German, and all fits`, async ({ room, page }) => {
    const said = complaints(page);
    await page.setViewportSize(size);
    await room.session();
    await room.verb("step", "zero");
    await page.goto((await room.open()).mark);
    await expect(page.locator("#source-state")).toHaveText("LIVE");
    await expect(page.locator("html")).toHaveAttribute("lang", "de");
    await expect(page.locator("#mark-word")).toHaveText("Markieren");
    let mark = 0;
    for (const x of [0, 80, 0]) {
      await room.tell("at", String(x));
      mark += 1;
      await press(page, "mark", `Marke ${mark},`);
      await page.locator("#facts", { hasText: `Marke ${mark},` }).waitFor();
    }
    await expect(page.locator("#values output").first()).toHaveText(/^[+-]\d,\d{3}$/);
    await expect(page.locator("#values")).toContainText("RESTWINKEL");
    await expect(page.locator("#verdict")).toContainText(/TOLERANZ|NICHT ENTSCHEIDBAR/);
    await page.locator("#more summary").click();
    expect(await seen(page)).not.toMatch(ENGLISH);
    expect(await tooWide(page)).toEqual([]);
    await accessible(page, expect);
    await press(page, "menu");
    await expect(page.locator("#pick-title")).toHaveText("Menü");
    expect(await seen(page)).not.toMatch(ENGLISH);
    expect(await tooWide(page)).toEqual([]);
    await page.locator("#picks button", { hasText: "Sitzungen" }).click();
    await expect(page.locator("#found")).toContainText("Nullabgleich");
    expect(await seen(page)).not.toMatch(ENGLISH);
    expect(await tooWide(page)).toEqual([]);
    expect(said).toEqual([]);
    if (process.env.CONEWRIGHT_PICTURES) await page.screenshot({ path: `${process.env.CONEWRIGHT_PICTURES}/german-${size.width}.png` });
  });
}
