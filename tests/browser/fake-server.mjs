// fake-server.mjs - a stand-in for the daemon: the built pages and an invented studio.
//
// As a program: node fake-server.mjs SITE_FOLDER [SCENARIO] [PORT]
import { createHash } from "node:crypto";
import { existsSync, readFileSync } from "node:fs";
import { createServer } from "node:http";
import { extname, join, normalize, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { gzipSync } from "node:zlib";
import { nowOf, scenarios, seriesOf, zoneOf } from "./invented-studio.mjs";

const CSP =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; font-src 'self'; " +
    "connect-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'";
const TYPES = /** @type {Record<string, string>} */ ({
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
});

/**
 * @param {{site: string, scenario?: string, port?: number, version?: string, beat?: number, keep?: boolean}} options
 * keep: the process lives on for this server; a test's ends with its tests, failed or not
 */
export function startFake({ site, scenario = "studio", port = 0, version = "0.1.0", beat = 2000, keep = false }) {
    // The page is given the studio's hour, not the test machine's.
    const world = { scenario, version, streamsRefused: false, failing: false, sent: 0, requests: /** @type {string[]} */ ([]) };
    /** @type {Set<import("node:http").ServerResponse>} */
    const streams = new Set();
    const now = () => Math.floor(Date.now() / 1000);
    let rooms = scenarios[scenario].rooms(now());

    /** @param {import("node:http").ServerResponse} response @param {unknown} body @param {number} [status] */
    function json(response, body, status = 200) {
        response.writeHead(status, { "content-type": status < 400 ? "application/json" : "application/problem+json", "cache-control": "no-store" });
        response.end(JSON.stringify(body));
    }

    function studio() {
        const about = scenarios[world.scenario];
        return {
            name: about.name ?? "Harbour Lane Studio",
            timezone: "Europe/London",
            demo: about.demo,
            version: world.version,
            now: now(),
            altitude_m: 40,
            clock: "good",
            recording: { state: "recording", detail: null, last_commit: now() - 4, since: now() - 86400, queue: 0 },
            sensors: about.sensors,
            signed_days: 412,
            last_signed_day: "2026-11-24",
            messages: { waiting: 0, given_up: 0 },
            key: "9f41c2d07a6be583",
        };
    }

    function instruments() {
        return rooms.flatMap((room) =>
            room.instruments.map((/** @type {any} */ i, /** @type {number} */ n) => ({
                name: i.name,
                serial: i.serial,
                bus: "bench-line",
                unit: n + 3,
                zone: room.id,
                every_s: room.every ?? 60,
                placement: "1.6 m up, inside wall, 3 m from the heater",
                quantities: ["temperature", "humidity"],
                state: !room.age ? "never" : room.silentSince ? "failing" : "reading",
                last: room.age ? (room.silentSince ?? now() - 12) : null,
                reason: room.silentSince || !room.age ? "no_answer" : null,
                text: room.silentSince || !room.age ? "no answer within 0.5 s" : null,
                polls: 86400,
                failures: room.silentSince ? 301 : 0,
            })),
        );
    }

    /** @param {URLSearchParams} query */
    function alarms(query) {
        const from = Number(query.get("from") ?? 0);
        const to = Number(query.get("to") ?? Infinity);
        return rooms
            .flatMap((room) => room.alarms ?? [])
            .filter((alarm) => !query.get("zone") || alarm.zone === query.get("zone"))
            .filter((alarm) => query.get("state") === "all" || alarm.state !== "normal")
            .filter((alarm) => alarm.since <= to && (alarm.until ?? Infinity) >= from);
    }

    /** @param {URL} url @param {import("node:http").ServerResponse} response */
    function api(url, response) {
        const [, , , kind, id, sub] = url.pathname.split("/");
        const room = id && rooms.find((r) => r.id === decodeURIComponent(id));
        if (world.failing) return json(response, { title: "The database is locked", status: 503, detail: "The database is locked" }, 503);
        if (kind === "events") return events(response);
        if (kind === "studio") return json(response, studio());
        if (kind === "zones" && !id) return json(response, { zones: rooms.map((r) => zoneOf(r, now())) });
        if (kind === "zones" && room && !sub) return json(response, zoneOf(room, now()));
        if (kind === "zones" && room && sub === "series") return json(response, seriesOf(room, url.searchParams, now()));
        if (kind === "alarms" && !id) return json(response, { alarms: alarms(url.searchParams) });
        if (kind === "alarms")
            return json(response, {
                events: [
                    { t: now() - 32000, from: "normal", to: "unacknowledged", value: 65.8, person: null, reason: null },
                    { t: now() - 30000, from: "unacknowledged", to: "acknowledged", value: 70.2, person: `<i>K. "Hale"</i>`, reason: "tank emptied" },
                ],
            });
        if (kind === "instruments") return json(response, { instruments: instruments() });
        return json(response, { type: "about:blank", title: "Not found", status: 404, detail: `nothing at ${url.pathname}` }, 404);
    }

    /** @param {import("node:http").ServerResponse} response */
    function events(response) {
        if (world.streamsRefused) return json(response, { title: "Starting", status: 503 }, 503);
        response.writeHead(200, { "content-type": "text/event-stream", "cache-control": "no-store" });
        response.write(`retry: 500\n\nevent: hello\ndata: ${JSON.stringify({ now: now(), version: world.version })}\n\n`);
        streams.add(response);
        response.on("close", () => streams.delete(response));
    }

    /** @param {string} name @param {unknown} data */
    function send(name, data) {
        world.sent += 1;
        for (const stream of streams) stream.write(`event: ${name}\ndata: ${JSON.stringify(data)}\n\n`);
    }

    function readings() {
        send("readings", { t: now(), zones: rooms.filter((room) => room.age && !room.silentSince).map((room) => ({ id: room.id, now: nowOf(room, now()) })) });
    }

    /** @param {string} path @param {import("node:http").IncomingMessage} request @param {import("node:http").ServerResponse} response */
    function file(path, request, response) {
        const plain = join(site, normalize(path));
        const name = plain.startsWith(site) && extname(plain) && existsSync(plain) ? plain : join(site, "index.html");
        const data = readFileSync(name);
        const etag = `"${createHash("sha256").update(data).digest("hex").slice(0, 16)}"`;
        const head = { "content-security-policy": CSP, etag, "x-content-type-options": "nosniff", "referrer-policy": "no-referrer", vary: "accept-encoding" };
        if (request.headers["if-none-match"] === etag) {
            response.writeHead(304, head);
            return response.end();
        }
        response.writeHead(200, { ...head, "content-type": TYPES[extname(name)], "content-encoding": "gzip", "cache-control": path.startsWith("/assets/") ? "max-age=31536000, immutable" : "no-cache" });
        response.end(gzipSync(data, { level: 9 }));
    }

    const handler = (/** @type {import("node:http").IncomingMessage} */ request, /** @type {import("node:http").ServerResponse} */ response) => {
        const url = new URL(request.url ?? "/", "http://localhost");
        world.requests.push(url.pathname + url.search);
        if (url.pathname.startsWith("/api/v1/")) return void api(url, response);
        if (url.pathname === "/healthz") return json(response, { status: "ok", detail: "" });
        file(url.pathname, request, response);
    };

    let server = createServer(handler);
    const timer = setInterval(readings, beat);
    if (!keep) timer.unref();

    /** @param {number} wanted @returns {Promise<number>} */
    const listen = (wanted) =>
        new Promise((done) => {
            if (!keep) server.unref();
            server.listen(wanted, "127.0.0.1", () => done(/** @type {import("node:net").AddressInfo} */ (server.address()).port));
        });

    const fake = {
        world,
        port: 0,
        get url() {
            return `http://127.0.0.1:${fake.port}`;
        },
        get streams() {
            return streams.size;
        },
        send,
        readings,
        /** @param {string} next */
        become(next) {
            world.scenario = next;
            rooms = scenarios[next].rooms(now());
        },
        cut() {
            for (const stream of streams) stream.destroy();
        },
        /** The daemon dies: nothing answers. */
        async stop() {
            server.closeAllConnections();
            await new Promise((done) => server.close(done));
        },
        /** And comes back at the same port. */
        async again() {
            server = createServer(handler);
            await listen(fake.port);
        },
        async end() {
            clearInterval(timer);
            await fake.stop().catch(() => undefined);
        },
    };
    return listen(port).then((found) => {
        fake.port = found;
        return fake;
    });
}

if (process.argv[1] && resolve(process.argv[1]) === fileURLToPath(import.meta.url)) {
    const [site, scenario = "studio", port = "8621"] = process.argv.slice(2);
    if (!site || !scenarios[scenario]) {
        console.error(`usage: node fake-server.mjs SITE_FOLDER [${Object.keys(scenarios).join("|")}] [PORT]`);
        process.exit(2);
    }
    const fake = await startFake({ site: resolve(site), scenario, port: Number(port), keep: true });
    console.log(fake.url);
}
