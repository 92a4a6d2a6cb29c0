// The form of a step, and two sessions side by side, in Chromium.

import { accessible, complaints, expect, pick, press, test } from "./room.js";

const picture = (page, name) => process.env.CONEWRIGHT_PICTURES && page.screenshot({ path: `${process.env.CONEWRIGHT_PICTURES}/${name}.png` });
const option = (page, flag) => page.locator(`#step [data-flag="${flag}"]`);

for (const [name, size, scheme] of [
  ["across", { width: 1280, height: 800 }, "light"],
  ["upright, dark", { width: 800, height: 1280 }, "dark"],
  ["that is a telephone", { width: 390, height: 844 }, "light"],
]) {
  test(`on a tablet ${name} a step's options fit a glove, and a refusal stands under the field that it names`, async ({ room, page }) => {
    const said = complaints(page);
    await page.setViewportSize(size);
    await page.emulateMedia({ colorScheme: scheme });
    await room.session();
    await room.verb("step", "zero");
    await page.goto((await room.open()).mark);
    await pick(page, "Run-out");
    // The usual ones are there, the others folded.
    await expect(option(page, "angles")).toBeVisible();
    await expect(option(page, "square-to-cone")).toBeHidden();
    await accessible(page, expect);
    const small = await page.evaluate(() => [...document.querySelectorAll("#step .words span, #step input:not([type=radio], [type=checkbox]), #step button, #step summary")].map((e) => e.getBoundingClientRect()).filter((r) => r.height > 0 && r.height < 56).length);
    expect(small).toBe(0);
    expect(await page.evaluate(() => document.querySelector("#step").scrollWidth - document.querySelector("#step").clientWidth)).toBeLessThanOrEqual(0);
    await picture(page, `options-${size.width}-${scheme}`);
    await option(page, "angles").getByRole("radio", { name: "clock" }).check();
    await option(page, "per-turn").locator("input").fill("2");
    await page.locator("#step-yes").click();
    await expect(option(page, "per-turn").locator(".blame")).toContainText("`2` is out of range: a whole number from 3 to 360".replaceAll("`", ""));
    await expect(option(page, "per-turn").locator("input")).toBeFocused();
    await accessible(page, expect);
    await picture(page, `refused-${size.width}-${scheme}`);
    // What was open is open still.
    expect((await room.verb("status")).step).toMatchObject({ kind: "zero", number: 1 });
    await option(page, "per-turn").locator("input").fill("8");
    await expect(page.locator("#step .blame")).toHaveCount(0);
    // A field that is folded shows itself when it is the wrong one.
    await page.locator("#step-more summary").click();
    await option(page, "filter").locator("input").fill("1");
    await page.locator("#step-more summary").click();
    await page.locator("#step-yes").click();
    await expect(option(page, "filter").locator(".blame")).toBeVisible();
    await option(page, "filter").locator("input").fill("50");
    await option(page, "reversal").getByRole("checkbox").check();
    await accessible(page, expect);
    await page.locator("#step-yes").click();
    if (await page.locator("#ask").isVisible()) await page.locator("#ask-yes").click();
    await expect(page.locator("#title")).toContainText("run-out step 2");
    await expect(page.locator("#step")).toBeHidden();
    await room.verb("session", "close");
    const { steps } = await room.verb("session", "show");
    expect(steps[1].options).toMatchObject({ angles: "clock", per_turn: 8, reversal: true, filter_upr: 50 });
    // The browser reports an answer that refuses; there were two, and nothing else.
    expect(said.filter((line) => !line.includes("422"))).toEqual([]);
  });
}

test("a refusal of the form of a session stands under its field too", async ({ room, page }) => {
  await page.goto((await room.open()).mark);
  await press(page, "next");
  await page.locator("#field-name").fill("spindle 7");
  await page.locator("#field-taper").fill("1:0");
  await page.locator("#open-yes").click();
  await expect(page.locator('#open [data-flag="taper"] .blame')).toContainText("1:0");
  await expect(page.locator("#field-taper")).toBeFocused();
  await accessible(page, expect);
  await page.locator("#field-taper").fill("1:12");
  await expect(page.locator("#open .blame")).toHaveCount(0);
  await page.locator("#open-yes").click();
  await expect(page.locator("#title")).toContainText("spindle 7");
});

test("a form that is sent twice is taken once", async ({ room, page }) => {
  await page.goto((await room.open()).mark);
  await press(page, "next");
  await page.locator("#field-name").fill("spindle 7");
  await page.locator("#open-yes").dblclick();
  await expect(page.locator("#message")).toContainText("session 1 is open");
  await pick(page, "Contact");
  const sent = [];
  page.on("request", (request) => { if (request.method() === "POST" && request.url().endsWith("/v1/steps")) sent.push(request.url()); });
  // It lacks the length of the taper: that is no field of this form, and is said below all of them.
  await page.locator("#step-yes").dblclick();
  await expect(page.locator("#step-said .blame")).toContainText("needs the length of the taper");
  expect(sent).toHaveLength(0);
  await page.locator("#step-no").click();
  await pick(page, "Dial");
  await page.locator("#step-yes").dblclick();
  await expect(page.locator("#title")).toContainText("dial step 1");
  expect(sent).toHaveLength(1);
});

test("two sessions that are chosen stand side by side", async ({ room, page }) => {
  const name = "spindle <b>7</b> \u202Eevil שלום";
  for (const left of ["0.001", "0.0003", "0.002"]) {
    await room.verb("session", "open", name, "--taper", "1:12", "--length", "30", "--span=80", "--fixture", "plate", "--cable", "typed");
    await room.verb("step", "zero");
    for (const b of ["0.010", left]) for (const [station, value] of [["A", "0"], ["B", b], ["A", "0"]]) await room.verb("mark", station, "--value", value);
    await room.verb("session", "close");
  }
  await page.setViewportSize({ width: 1280, height: 800 });
  await page.goto((await room.open()).view);
  await press(page, "menu");
  await page.locator("#picks button", { hasText: "Sessions" }).click();
  const box = (session) => page.locator(`#found input[value="${session}"]`);
  await expect(page.locator("#beside")).toBeDisabled();
  await box(3).check();
  await box(1).check();
  await expect(page.locator("#beside")).toHaveText("Sessions 3 and 1 side by side");
  // A third takes the place of the first.
  await box(2).check();
  await expect(box(3)).not.toBeChecked();
  await accessible(page, expect);
  await page.locator("#beside").click();
  await expect(page.locator("#pair-title")).toHaveText("Sessions 2 and 1 side by side");
  const row = (name) => page.locator("#pair-table tr", { has: page.locator("th", { hasText: name }) }).locator("td");
  await expect(row("residual as found")).toHaveText(['+25.78"', '+25.78"']);
  await expect(row("residual as left").nth(0)).toContainText('+0.77"');
  await expect(row("residual as left").nth(1)).toContainText('+2.58"');
  await expect(row("part").nth(0)).toHaveText(name);
  await accessible(page, expect);
  await picture(page, "beside");
  await page.keyboard.press("Escape");
  await expect(page.locator("#sessions")).toBeVisible();
});
