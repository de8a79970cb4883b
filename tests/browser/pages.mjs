// pages.mjs THEME - every page at three widths. Run by test_pages_light.sh, test_pages_dark.sh.
import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible, drawn, fake, launch, open, shot, WIDTHS } from "./support.mjs";

/** @type {any} */
let browser;
before(async () => {
    browser = await launch();
});
after(() => browser.close());

const PAGES = [
    { name: "rooms", scenario: "studio", path: "/", heading: "Rooms", charts: 6 },
    { name: "zone", scenario: "studio", path: "/zone/drying-room", heading: "Drying room", charts: 2 },
    { name: "zone-ten-years", scenario: "studio", path: "/zone/store?show=all", heading: "Store", charts: 2 },
    { name: "zone-hour", scenario: "studio", path: "/zone/bench?show=hour", heading: "Frame bench", charts: 2 },
    { name: "zone-quiet", scenario: "studio", path: "/zone/quarantine", heading: "Quarantine", charts: 2 },
    { name: "zone-empty", scenario: "studio", path: "/zone/crate", heading: "Crate 7", charts: 0 },
    { name: "alarms", scenario: "studio", path: "/alarms", heading: "Alarms", charts: 0 },
    { name: "instruments", scenario: "studio", path: "/instruments", heading: "Instruments", charts: 0 },
    { name: "unknown", scenario: "studio", path: "/zone/nowhere", heading: "Not found", charts: 0 },
    { name: "first-steps", scenario: "none", path: "/", heading: "Three steps to the first reading", charts: 0 },
    { name: "first-alarms", scenario: "none", path: "/alarms", heading: "Alarms", charts: 0 },
    { name: "first-instruments", scenario: "none", path: "/instruments", heading: "Instruments", charts: 0 },
    { name: "waiting", scenario: "waiting", path: "/", heading: "Waiting for the first reading", charts: 0 },
    { name: "one-reading", scenario: "one", path: "/", heading: "Rooms", charts: 1 },
    { name: "one-reading-zone", scenario: "one", path: "/zone/bench", heading: "Frame bench", charts: 2 },
    { name: "hostile", scenario: "hostile", path: "/", heading: "Rooms", charts: 4 },
    { name: "hostile-zone", scenario: "hostile", path: "/zone/rtl", heading: "غرفة التجفيف (test)", charts: 2 },
    { name: "hostile-alarms", scenario: "hostile", path: "/alarms", heading: "Alarms", charts: 0 },
    { name: "hostile-instruments", scenario: "hostile", path: "/instruments", heading: "Instruments", charts: 0 },
];

const theme = /** @type {"light" | "dark"} */ (process.env.STILLROOM_THEME ?? "light");

for (const width of Object.keys(WIDTHS).map(Number))
    test(`every page stands at ${width} px, ${theme}`, async () => {
        for (const { name, scenario, path, heading, charts } of PAGES) {
            const where = `${name} ${width} ${theme}`;
            const studio = await fake(scenario);
            const { page, faults, context } = await open(browser, { width, theme });
            await page.goto(studio.url + path);
            await page.getByRole("heading", { level: 1, name: heading, exact: true }).waitFor();
            await page.getByText("The chart begins").or(page.locator("footer p").first()).first().waitFor();
            await drawn(page, charts);
            await accessible(page, where);
            const sideways = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
            assert.ok(sideways <= 0, `${where} scrolls sideways by ${sideways}`);
            const demo = await page.getByText("DEMO", { exact: true }).count();
            assert.equal(demo > 0, scenario !== "none" && scenario !== "waiting" && scenario !== "one", `DEMO on ${where}`);
            assert.deepEqual(faults, [], where);
            await shot(page, `${name}-${width}-${theme}`);
            await context.close();
            await studio.end();
        }
    });
