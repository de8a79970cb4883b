// live.mjs - the stream that keeps the pages fresh, and what happens when it breaks.
// Run by test_live.sh.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { drawn, fake, launch, open, shot } from "./support.mjs";

/** @type {any} */
let browser;
before(async () => {
    browser = await launch();
});
after(() => browser.close());

test("new readings appear by themselves", async () => {
    const studio = await fake("studio", { beat: 600000 });
    const { page, faults, context } = await open(browser);
    await page.goto(studio.url);
    await drawn(page, 6);
    const now = Math.floor(Date.now() / 1000);
    studio.send("readings", { t: now, zones: [{ id: "bench", now: { t: now, humidity: { value: 41, t: now, flags: [] }, temperature: { value: 12.3, t: now, flags: [] } } }] });
    const bench = page.getByRole("region", { name: "Frame bench" });
    await bench.getByText("12.3", { exact: false }).first().waitFor();
    assert.match(await bench.locator(".say").innerText(), /^41\s%/);
    assert.deepEqual(faults, []);
    await context.close();
    await studio.end();
});

test("a cut stream is said in words, and comes back", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser, { width: 390 });
    await page.goto(studio.url);
    await drawn(page, 2);
    await page.getByText("Connected; new readings appear").waitFor();
    studio.world.streamsRefused = true;
    studio.cut();
    const notice = page.locator("[role=status] .notice");
    await notice.waitFor();
    assert.match(await notice.innerText(), /^Not connected since \d\d:\d\d; showing what was last known\./);
    await shot(page, "cut-390-light");
    // The figures stay while nothing is heard.
    assert.match(await page.locator(".number.wet").first().innerText(), /\d+/);
    studio.world.streamsRefused = false;
    await notice.waitFor({ state: "detached" });
    await context.close();
    await studio.end();
});

test("a daemon restarted under an open page is taken up again", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser);
    await page.goto(`${studio.url}/zone/bench`);
    await drawn(page, 2);
    await studio.stop();
    await page.getByText("Not connected since").waitFor();
    studio.become("one");
    await studio.again();
    await page.getByText("Not connected since").waitFor({ state: "detached" });
    // What changed meanwhile is asked for anew: that studio is no demonstration.
    await page.getByText("DEMO", { exact: true }).first().waitFor({ state: "detached" });
    const asked = studio.world.requests.length;
    await page.waitForTimeout(1500);
    assert.ok(studio.world.requests.length - asked < 12, "no storm of questions after a restart");
    await context.close();
    await studio.end();
});

test("an updated daemon offers its new pages", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser);
    await page.goto(studio.url);
    await drawn(page, 2);
    await studio.stop();
    studio.world.version = "0.2.0";
    await studio.again();
    await page.getByRole("button", { name: "Load the new pages" }).waitFor();
    await context.close();
    await studio.end();
});

test("all tabs share one stream, and the next takes over", async () => {
    const studio = await fake("studio");
    const first = await open(browser);
    await first.page.goto(studio.url);
    await drawn(first.page, 2);
    const second = await open(browser, { context: first.context });
    const third = await open(browser, { context: first.context });
    await second.page.goto(`${studio.url}/zone/bench`);
    await third.page.goto(`${studio.url}/alarms`);
    await third.page.getByText("Connected; new readings appear").waitFor();
    await second.page.getByText("Connected; new readings appear").waitFor();
    assert.equal(studio.streams, 1);
    await first.page.close();
    for (let i = 0; i < 100 && studio.streams !== 1; i++) await second.page.waitForTimeout(100);
    await second.page.waitForTimeout(500);
    assert.equal(studio.streams, 1);
    // The second tab still hears through whoever leads now.
    const now = Math.floor(Date.now() / 1000);
    studio.send("readings", { t: now, zones: [{ id: "bench", now: { t: now, humidity: { value: 33, t: now, flags: [] } } }] });
    await second.page.getByText(/^33\s%/).first().waitFor();
    await first.context.close();
    await studio.end();
});

test("an alarm event brings the alarm to the page", async () => {
    const studio = await fake("studio");
    const { page, context } = await open(browser);
    await page.goto(`${studio.url}/alarms`);
    await page.getByRole("heading", { name: "Standing" }).waitFor();
    const asked = () => studio.world.requests.filter((path) => path.startsWith("/api/v1/alarms")).length;
    const before_ = asked();
    studio.send("alarm", { id: 13 });
    for (let i = 0; i < 60 && asked() === before_; i++) await page.waitForTimeout(100);
    assert.ok(asked() > before_);
    await context.close();
    await studio.end();
});
