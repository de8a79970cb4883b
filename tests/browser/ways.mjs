// ways.mjs - how the pages behave: no jumps, hostile names, many rooms, refusals, print, weight.
// Run by test_ways.sh.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { gzipSync } from "node:zlib";
import { drawn, fake, launch, open, shot, site, until } from "./support.mjs";

/** @type {any} */
let browser;
before(async () => {
    browser = await launch();
});
after(() => browser.close());

test("nothing moves once it is there", async () => {
    const studio = await fake("studio");
    for (const path of ["/", "/zone/drying-room"]) {
        const { page, context } = await open(browser, { width: 820 });
        await page.addInitScript(() => {
            /** @type {any} */ (window).shift = 0;
            new PerformanceObserver((list) => {
                for (const entry of /** @type {any[]} */ (list.getEntries())) /** @type {any} */ (window).shift += entry.value;
            }).observe({ type: "layout-shift", buffered: true });
        });
        await page.goto(studio.url + path);
        await drawn(page, 2);
        await page.waitForTimeout(1500);
        // 0.1 is what the Web Vitals call good; words that come with the week may add a line.
        assert.ok((await page.evaluate(() => /** @type {any} */ (window).shift)) < 0.1, `layout shift on ${path}`);
        await context.close();
    }
    await studio.end();
});

test("hostile names are text and nothing else", async () => {
    const studio = await fake("hostile");
    const { page, faults, context } = await open(browser);
    let alerted = false;
    page.on("dialog", () => (alerted = true));
    for (const path of ["/", "/zone/rtl", "/zone/bench", "/alarms", "/instruments"]) {
        await page.goto(studio.url + path);
        await page.locator("h1").waitFor();
        await page.waitForTimeout(300);
        assert.equal(await page.locator("main script, main img, main b, main i").count(), 0, path);
    }
    await page.goto(`${studio.url}/`);
    await page.getByRole("heading", { name: `<script>alert("x")</script>` }).waitFor();
    await page.goto(`${studio.url}/alarms`);
    await page.getByText(`<b>Humidity</b> above 65 % & "so on"`, { exact: true }).first().waitFor();
    await page.getByText("What happened").first().click();
    await page.getByText(`<i>K. "Hale"</i>`).waitFor();
    assert.equal(alerted, false);
    assert.deepEqual(faults, []);
    await context.close();
    await studio.end();
});

test("thirty rooms ask for their weeks only as they come into sight", async () => {
    const studio = await fake("thirty");
    const { page, faults, context } = await open(browser, { width: 820 });
    await page.goto(studio.url);
    await drawn(page, 6);
    assert.equal(await page.locator(".strip").count(), 30);
    const asked = () => studio.world.requests.filter((path) => path.includes("/series")).length;
    assert.ok(asked() < 40, `${asked()} series at once`);
    await page.getByRole("heading", { name: "Room 30" }).scrollIntoViewIfNeeded();
    await until(page, () => document.querySelectorAll(".strip:last-of-type path.trace").length === 2);
    await shot(page, "thirty-820-light", false);
    assert.deepEqual(faults, []);
    await context.close();
    await studio.end();
});

test("the daemon's refusal is said in words, and tried again", async () => {
    const studio = await fake("studio");
    studio.world.failing = true;
    const { page, context } = await open(browser, { width: 390 });
    await page.goto(studio.url);
    await page.getByText("The database is locked").waitFor();
    await shot(page, "refused-390-light");
    studio.world.failing = false;
    await page.getByRole("button", { name: "Try again" }).click();
    await page.getByRole("heading", { name: "Drying room" }).waitFor();
    await context.close();
    await studio.end();
});

test("a page prints on white, with its name and DEMO", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser, { width: 820, theme: "dark" });
    await page.goto(`${studio.url}/zone/drying-room`);
    await drawn(page, 2);
    await page.emulateMedia({ media: "print" });
    assert.equal(await page.evaluate(() => getComputedStyle(document.body).backgroundColor), "rgb(255, 255, 255)");
    assert.equal(await page.getByRole("button", { name: "Week" }).isVisible(), false);
    assert.equal(await page.getByText("DEMO", { exact: true }).isVisible(), true);
    await shot(page, "print-zone");
    await context.close();
    await studio.end();
});

test("the first Tab offers a way past the menu, and no page holds the focus", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser, { width: 390 });
    await page.goto(`${studio.url}/zone/drying-room`);
    await drawn(page, 2);
    await page.keyboard.press("Tab");
    const skip = page.getByRole("link", { name: "Skip to the page" });
    assert.ok((await skip.boundingBox()).y >= 0, "seen while it has the focus");
    await page.keyboard.press("Enter");
    assert.equal(await page.evaluate(() => document.activeElement?.id), "main");
    // On through the page, chart included, to its end.
    let name = "";
    for (let i = 0; i < 80 && name !== "Licences"; i++) {
        await page.keyboard.press("Tab");
        name = await page.evaluate(() => document.activeElement?.textContent ?? "");
    }
    assert.equal(name, "Licences");
    await context.close();
    await studio.end();
});

test("nothing is cut off at 320 px, which is 1280 px at four times the size", async () => {
    // WCAG 2.2, 1.4.10.
    for (const [scenario, path] of [["studio", "/"], ["studio", "/zone/drying-room"], ["studio", "/alarms"], ["studio", "/instruments"], ["none", "/"], ["hostile", "/zone/long"]]) {
        const studio = await fake(scenario);
        const { page, context } = await open(browser, { width: 320 });
        await page.goto(studio.url + path);
        await page.locator("h1").waitFor();
        await page.waitForTimeout(500);
        const sideways = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
        assert.ok(sideways <= 0, `${scenario} ${path} scrolls sideways by ${sideways}`);
        await context.close();
        await studio.end();
    }
});

test("what is tapped is large enough", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser, { width: 390 });
    for (const path of ["/", "/zone/drying-room", "/alarms", "/instruments"]) {
        await page.goto(studio.url + path);
        await page.locator("h1").waitFor();
        await page.waitForTimeout(400);
        // WCAG 2.2, 2.5.8: 24 by 24 CSS pixels, but for links within a sentence.
        const small = await page.evaluate(() =>
            [...document.querySelectorAll("button, summary, nav a, h2 a, .up a, .chart, label.reading")]
                .map((e) => ({ text: e.textContent, box: e.getBoundingClientRect() }))
                .filter(({ box }) => box.width > 0 && (box.width < 24 || box.height < 24))
                .map(({ text }) => text),
        );
        assert.deepEqual(small, [], path);
    }
    await context.close();
    await studio.end();
});

test("page code and styles weigh less than 150 kB", () => {
    const index = readFileSync(join(site, "index.html"), "utf8");
    const names = [...index.matchAll(/(?:src|href)="(\/[^"]+)"/g)].map((m) => m[1]).filter((name) => !name.startsWith("/api/"));
    assert.ok(names.some((n) => n.endsWith(".js")) && names.some((n) => n.endsWith(".css")));
    const weight = [index, ...names.map((name) => readFileSync(join(site, name)))].reduce((sum, data) => sum + gzipSync(data, { level: 9 }).length, 0);
    console.log(`weight: ${weight} bytes compressed`);
    assert.ok(weight < 150_000, `${weight} bytes`);
    // No script or style within the page: the policy would refuse it.
    assert.doesNotMatch(index, /<style|style=|<script(?![^>]*src=)|\son[a-z]+=/);
});
