// support.mjs - what the browser tests share: the browser, a watched page, checks.
import assert from "node:assert/strict";
import { existsSync, mkdirSync, readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join, resolve } from "node:path";
import { startFake } from "./fake-server.mjs";

export const build = resolve(process.env.STILLROOM_BUILD ?? "build");
export const site = join(build, "web/site");
const screens = join(build, "screens");
const require = createRequire(join(build, "browser/package.json"));
const { chromium } = require("playwright-core");
const axe = readFileSync(require.resolve("axe-core/axe.min.js"), "utf8");

mkdirSync(screens, { recursive: true });

export const WIDTHS = /** @type {Record<number, number>} */ ({ 390: 844, 820: 1180, 1600: 1000 });

export function launch() {
    const executablePath = ["/usr/bin/chromium", "/usr/bin/chromium-browser"].find((path) => existsSync(path));
    if (!executablePath) throw new Error("chromium is not installed (on Debian: apt-get install chromium)");
    return chromium.launch({
        executablePath,
        headless: true,
        args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"],
    });
}

/** @param {string} scenario @param {object} [more] */
export const fake = (scenario, more = {}) => startFake({ site, scenario, ...more });

/**
 * A page whose faults are noted: errors, refused policies, requests that leave the host.
 * @param {any} browser @param {{width?: number, theme?: "light" | "dark", touch?: boolean, context?: any}} [look]
 */
export async function open(browser, { width = 1600, theme = "light", touch = false, context } = {}) {
    const own =
        context ??
        (await browser.newContext({
            viewport: { width, height: WIDTHS[width] ?? 900 },
            colorScheme: theme,
            hasTouch: touch,
            timezoneId: "America/New_York",
        }));
    const page = await own.newPage();
    page.setDefaultTimeout(30000);
    /** @type {string[]} */
    const faults = [];
    page.on("pageerror", (/** @type {Error} */ error) => faults.push(`error: ${error.message}`));
    page.on("console", (/** @type {any} */ message) => {
        if (message.type() === "error" || message.type() === "warning") faults.push(`console: ${message.text()}`);
    });
    page.on("request", (/** @type {any} */ request) => {
        const url = new URL(request.url());
        if (url.hostname !== "127.0.0.1" && url.protocol !== "data:") faults.push(`left the host: ${request.url()}`);
    });
    await page.addInitScript(() => {
        document.addEventListener("securitypolicyviolation", (e) => console.error(`policy: ${e.violatedDirective} ${e.blockedURI}`));
    });
    return { page, faults, context: own };
}

/** @param {any} page @param {string} name */
export function shot(page, name, fullPage = true) {
    return page.screenshot({ path: join(screens, `${name}.png`), fullPage });
}

/** axe-core finds nothing. Run past the page's policy, in its own world. @param {any} page @param {string} where */
export async function accessible(page, where) {
    await page.evaluate(axe);
    const found = await page.evaluate(() => /** @type {any} */ (window).axe.run(document, { resultTypes: ["violations"] }));
    const said = found.violations.map((/** @type {any} */ v) => `${v.id}: ${v.help}: ${v.nodes.map((/** @type {any} */ n) => n.target.join(" ")).slice(0, 4)}`);
    assert.deepEqual(said, [], `axe-core on ${where}`);
}

/**
 * Waits until a function gives true in the page. (The browser driver's own way may use eval,
 * which the pages' policy refuses.)
 * @param {any} page @param {(arg: any) => unknown} test @param {unknown} [arg]
 */
export async function until(page, test, arg) {
    for (let i = 0; i < 600; i++) {
        if (await page.evaluate(test, arg)) return;
        await page.waitForTimeout(50);
    }
    throw new Error(`never came true: ${test}`);
}

/** Waits until the charts of a page are drawn. @param {any} page @param {number} [least] */
export async function drawn(page, least = 1) {
    await until(page, (/** @type {number} */ n) => document.querySelectorAll("path.trace, .u-over").length >= n, least);
    await page.waitForTimeout(300);
}
