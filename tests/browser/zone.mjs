// zone.mjs - the chart of a room by keys, mouse, wheel and fingers. Run by test_zone.sh.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, drawn, fake, launch, open, shot, until } from "./support.mjs";

/** @type {any} */
let browser;
/** @type {any} */
let studio;
before(async () => {
    browser = await launch();
    studio = await fake("studio");
});
after(async () => {
    await browser.close();
    await studio.end();
});

/** The span in the address, once the page has drawn and the address has come to rest: on a busy
 *  machine both take their time. @param {any} page */
async function span(page) {
    let seen = "";
    for (let i = 0, still = 0; i < 80 && still < 4; i++) {
        await page.evaluate(() => new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve))));
        await page.waitForTimeout(150);
        still = page.url() === seen ? still + 1 : 0;
        seen = page.url();
    }
    const query = new URL(page.url()).searchParams;
    const from = Number(query.get("from"));
    const to = Number(query.get("to"));
    return { show: query.get("show"), from, to, width: to - from };
}

/** @param {string} path @param {object} [look] */
async function begin(path, look = {}) {
    const opened = await open(browser, look);
    await opened.page.goto(studio.url + path);
    await drawn(opened.page, 2);
    return opened;
}

test("by keys alone: from ten years to an hour, a value read, and back", async () => {
    const { page, faults, context } = await begin("/zone/store?show=all");
    // Tab reaches the chart from the top of the page.
    let reached = false;
    for (let i = 0; i < 40 && !reached; i++) {
        await page.keyboard.press("Tab");
        reached = await page.evaluate(() => document.activeElement?.classList.contains("chart") ?? false);
    }
    assert.ok(reached, "the chart takes the focus");
    const ring = await page.evaluate(() => getComputedStyle(/** @type {Element} */ (document.activeElement)).outlineStyle);
    assert.equal(ring, "solid");
    let last = { width: Infinity };
    for (let i = 0; i < 30; i++) {
        await page.keyboard.press("+");
        if (i % 6 === 5) {
            const now = await span(page);
            assert.ok(now.width <= last.width);
            last = now;
        }
    }
    assert.equal(last.width, 3600);
    const before_ = await span(page);
    await page.keyboard.press("ArrowLeft");
    const moved = await span(page);
    assert.equal(before_.from - moved.from, 540);
    await page.keyboard.press("Shift+ArrowRight");
    const said = page.locator(".history > [role=status]");
    await until(page, () => /temperature/.test(document.querySelector(".history > [role=status]")?.textContent ?? ""));
    assert.match(await said.innerText(), /^\d+ \w+ \d{4}, \d\d:\d\d \+0[01]:00: temperature -?\d/);
    const line = await page.locator(".u-cursor-x").first().boundingBox();
    assert.ok(line.x > 0, "the cursor is seen on the chart");
    await shot(page, "zone-keys-hour", false);
    await page.keyboard.press("y");
    assert.equal((await span(page)).show, "year");
    await page.keyboard.press("Backspace");
    assert.equal((await span(page)).width, 3600);
    await page.keyboard.press("End");
    const end = await span(page);
    assert.ok(Math.abs(end.to - Date.now() / 1000) < 90);
    await page.keyboard.press("Home");
    assert.ok((await span(page)).from < Date.now() / 1000 - 9.9 * 365.25 * 86400);
    assert.deepEqual(faults, []);
    await context.close();
});

test("a drag looks closer and a double click steps back", async () => {
    const { page, context } = await begin("/zone/store?show=year");
    const over = page.locator(".u-over").nth(1);
    const box = await over.boundingBox();
    const y = box.y + box.height / 2;
    await page.mouse.move(box.x + box.width * 0.5, y);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width * 0.6, y, { steps: 5 });
    await page.mouse.up();
    const closer = await span(page);
    assert.ok(Math.abs(closer.width / (366 * 86400) - 0.1) < 0.01, `${closer.width}`);
    await page.mouse.dblclick(box.x + box.width * 0.3, y);
    assert.equal((await span(page)).show, "year");
    await context.close();
});

test("the wheel scrolls the page until the chart is chosen, and zooms around the pointer", async () => {
    const { page, context } = await begin("/zone/store?from=1600000000&to=1610000000");
    const box = await page.locator(".u-over").nth(1).boundingBox();
    await page.mouse.move(box.x + box.width * 0.25, box.y + 60);
    const before_ = await span(page);
    await page.mouse.wheel(0, -120);
    assert.equal((await span(page)).width, before_.width);
    await page.evaluate(() => window.scrollTo(0, 0));
    await page.locator(".chart").focus();
    await page.mouse.move(box.x + box.width * 0.25, box.y + 60);
    await page.mouse.wheel(0, -240);
    const zoomed = await span(page);
    assert.ok(zoomed.width < before_.width * 0.6);
    const fixed = (/** @type {any} */ s) => s.from + 0.25 * s.width;
    assert.ok(Math.abs(fixed(zoomed) - fixed(before_)) < before_.width * 0.01);
    await page.mouse.wheel(-200, 0);
    assert.ok((await span(page)).from < zoomed.from);
    await context.close();
});

test("one finger moves, two zoom", async () => {
    const { page, context } = await begin("/zone/store?from=1600000000&to=1610000000", { width: 390, touch: true });
    const over = page.locator(".u-over").nth(1);
    await over.scrollIntoViewIfNeeded();
    const box = await over.boundingBox();
    const client = await context.newCDPSession(page);
    const touch = (/** @type {string} */ type, /** @type {number[]} */ xs) =>
        client.send("Input.dispatchTouchEvent", { type, touchPoints: xs.map((share, id) => ({ x: box.x + box.width * share, y: box.y + 50, id })) });
    const before_ = await span(page);
    await touch("touchStart", [0.3]);
    for (const x of [0.35, 0.4, 0.5, 0.6]) await touch("touchMove", [x]);
    await touch("touchEnd", []);
    const moved = await span(page);
    assert.ok(moved.from < before_.from - 0.2 * before_.width, "moved earlier");
    assert.ok(Math.abs(moved.width - before_.width) < 3);
    await touch("touchStart", [0.4, 0.6]);
    for (const d of [0.05, 0.1, 0.15, 0.2]) await touch("touchMove", [0.4 - d, 0.6 + d]);
    await touch("touchEnd", []);
    const pinched = await span(page);
    assert.ok(pinched.width < before_.width * 0.6, `pinched to ${pinched.width}`);
    await context.close();
});

test("quantities are chosen by their ticks and read out at the cursor", async () => {
    const { page, faults, context } = await begin("/zone/drying-room");
    assert.equal(await page.locator(".u-over").count(), 2);
    for (const name of ["Mould index", "Door open", "Equilibrium moisture of wood", "Dew point"]) await page.getByRole("checkbox", { name: new RegExp(`^${name}`) }).check();
    await until(page, () => document.querySelectorAll(".u-over").length === 5);
    await page.getByRole("checkbox", { name: /^Temperature/ }).uncheck();
    await drawn(page, 4);
    const box = await page.locator(".u-over").nth(1).boundingBox();
    await page.mouse.move(box.x + box.width * 0.8, box.y + 30);
    await page.waitForTimeout(400);
    const legend = await page.locator(".readings legend").innerText();
    assert.match(legend, /^\d+ \w+ \d{4}, \d\d:\d\d/);
    const values = await page.locator(".reading-value").allInnerTexts();
    assert.equal(values.length, 10);
    assert.ok(values.every((/** @type {string} */ v) => /\d|yes|no|at times/.test(v)), values.join());
    await accessible(page, "zone with five panes");
    await shot(page, "zone-many-1600-light");
    assert.deepEqual(faults, []);
    await context.close();
});

test("the chart has a text twin: a sentence and a table", async () => {
    const { page, context } = await begin("/zone/bench");
    const sentence = await page.locator(".twin > p").first().innerText();
    assert.match(sentence, /temperature between .* and .*; humidity between/);
    assert.match(sentence, /Readings cover 9\d\s% of this span/);
    await page.getByText("The chart as a table").click();
    const table = page.getByRole("table");
    await table.waitFor();
    const days = await table.locator("tbody tr").count();
    assert.ok(days === 7 || days === 8, `${days} days`);
    assert.match(await table.innerText(), /\d+\.\d \(\d+\.\d to \d+\.\d\)/);
    await page.getByText(/No readings from .* the instrument did not answer/).first().waitFor();
    await accessible(page, "zone with its table");
    await context.close();
});

test("a link shows the span it was made from, and Back leads back", async () => {
    const { page, context } = await begin("/");
    await page.getByRole("link", { name: "Store" }).first().click();
    await page.getByRole("heading", { level: 1, name: "Store" }).waitFor();
    assert.equal(await page.evaluate(() => document.activeElement?.id), "main");
    await page.getByRole("button", { name: "Month" }).click();
    assert.equal((await span(page)).show, "month");
    await page.reload();
    await page.locator("button[aria-pressed=true]", { hasText: "Month" }).waitFor();
    await page.goBack();
    await page.getByRole("heading", { level: 1, name: "Rooms" }).waitFor();
    await context.close();
});

test("a mould index never stands without the damp hours and its caution", async () => {
    const { page, context } = await begin("/zone/store");
    const section = page.getByRole("region", { name: "What the air means" });
    const text = await section.innerText();
    assert.ok(text.indexOf("at or above 65") >= 0 && text.indexOf("at or above 65") < text.indexOf("Mould index"));
    assert.match(text, /Calculated for clean material at this sensor; not a clearance\./);
    assert.match(text, /Air only/);
    await context.close();
});
