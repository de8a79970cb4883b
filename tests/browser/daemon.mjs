// daemon.mjs - the pages on the real daemon, which reads simulated sensors. Run by
// test_daemon.sh.
import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { accessible, build, drawn, launch, open, shot } from "./support.mjs";

const folder = mkdtempSync(join(tmpdir(), "stillroom-pages-"));
/** @type {Set<import("node:child_process").ChildProcess>} */
const running = new Set();
/** @type {any} */
let browser;

/** @param {string} name @param {string[]} args */
function run(name, args) {
    const child = spawn(join(build, "bin", name), args, { stdio: ["ignore", "pipe", "inherit"] });
    running.add(child);
    child.on("exit", () => running.delete(child));
    return child;
}

/** @param {import("node:child_process").ChildProcess} child */
async function stop(child) {
    const gone = new Promise((done) => child.once("exit", done));
    child.kill("SIGTERM");
    await gone;
}

/** @returns {Promise<number>} a port that was free a moment ago */
const freePort = () =>
    new Promise((done) => {
        const server = createServer().listen(0, "127.0.0.1", () => {
            const { port } = /** @type {import("node:net").AddressInfo} */ (server.address());
            server.close(() => done(port));
        });
    });

/** @param {string} url */
async function answers(url) {
    for (let i = 0; i < 200; i++) {
        if (await fetch(url).then((a) => a.ok, () => false)) return;
        await new Promise((done) => setTimeout(done, 100));
    }
    throw new Error(`${url} does not answer`);
}

/** @param {number} http @param {number} tcp */
const site = (http, tcp) => `[studio]
name = Test studio
timezone = Europe/London
altitude_m = 40
demo = yes
clock = trusted

[store]
path = ${folder}/stillroom.db

[http]
listen = 127.0.0.1:${http}

[bus lan]
kind = modbus-tcp
address = 127.0.0.1:${tcp}

[zone bench]
title = Bench <b>&</b> "press"
purpose = bench

[instrument b-1]
bus = lan
unit = 1
serial = 41177
every = 1 s
zone = bench
read = temperature input 0 int16 x0.1 none -32768
read = humidity input 1 uint16 x0.1 none 65535
`;

before(async () => {
    browser = await launch();
});
after(async () => {
    await browser.close();
    for (const child of running) await stop(child);
    rmSync(folder, { recursive: true, force: true });
});

test("from waiting to the first reading, through a restart, on one open page", { skip: !existsSync(join(build, "bin/stillroom-sim")) && "the simulator was not built" }, async () => {
    const http = await freePort();
    const tcp = await freePort();
    writeFileSync(join(folder, "site.ini"), site(http, tcp));
    const url = `http://127.0.0.1:${http}`;
    const start = () => run("stillroomd", ["--site", join(folder, "site.ini"), "--foreground"]);
    let daemon = start();
    await answers(`${url}/api/v1/studio`);
    const { page, faults, context } = await open(browser, { width: 820 });
    await page.goto(url);
    await page.getByRole("heading", { level: 1, name: "Waiting for the first reading" }).waitFor();
    await accessible(page, "waiting, real daemon");

    run("stillroom-sim", ["--tcp", `127.0.0.1:${tcp}`]);
    await page.getByRole("heading", { level: 2, name: `Bench <b>&</b> "press"` }).waitFor();
    await page.locator(".number.wet").getByText(/\d+/).waitFor();
    await page.getByText("DEMO", { exact: true }).first().waitFor();
    await drawn(page, 1);
    await accessible(page, "rooms, real daemon");
    await shot(page, "daemon-rooms");

    await page.getByRole("link", { name: /Bench/ }).first().click();
    await page.getByRole("button", { name: "Hour" }).click();
    await drawn(page, 2);
    await page.getByText(/humidity (at|between) \d+/).first().waitFor();
    assert.deepEqual(faults, []);

    await stop(daemon);
    await page.getByText("Not connected since").waitFor();
    // Refused connections are the browser's own complaints, not ours.
    faults.length = 0;
    await page.waitForTimeout(5000); // long enough to be a gap at one reading a second
    daemon = start();
    await answers(`${url}/api/v1/studio`);
    await page.getByText("Not connected since").waitFor({ state: "detached" });
    await page.getByText(/No readings .*: Stillroom was stopped/).first().waitFor();
    await accessible(page, "zone, real daemon");
    await shot(page, "daemon-zone");
    assert.deepEqual(faults.filter((fault) => !fault.includes("ERR_CONNECTION_REFUSED")), []);

    for (const [path, heading] of [["/alarms", "Alarms"], ["/instruments", "Instruments"]]) {
        await page.goto(url + path);
        await page.getByRole("heading", { level: 1, name: heading }).waitFor();
        await page.waitForTimeout(300);
        await accessible(page, `${path}, real daemon`);
    }
    await page.getByText(/Reading every 1\s.; last answer/).waitFor();
    await context.close();
});
