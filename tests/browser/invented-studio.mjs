// invented-studio.mjs - invented studios for the pages' tests: what the interface would say.
import { series, value } from "./invented-air.mjs";

const HOUR = 3600;
const DAY = 86400;
const DERIVED = ["dew_point", "absolute_humidity", "emc", "mould_index", "dew_margin"];

/** @param {any} room @param {number} now */
function record(room, now) {
    const every = room.every ?? 60;
    return { first: now - room.age, last: room.silentSince ? room.silentSince : Math.floor(now / every) * every, every, gaps: room.gaps ?? [] };
}

/** @param {any} room @param {number} now */
export function nowOf(room, now) {
    if (!room.age) return null;
    const { last } = record(room, now);
    /** @type {any} */
    const found = { t: last };
    if (room.silentSince) return found;
    for (const name of room.quantities) found[name] = { value: Math.round(value(room, name, last) * 100) / 100, t: last, flags: [] };
    return found;
}

/** @param {any} room @param {number} now */
export function zoneOf(room, now) {
    const measured = room.quantities.filter((/** @type {string} */ q) => !DERIVED.includes(q) && q !== "surface_humidity");
    const rate = (/** @type {string} */ q) => (room.age ? (value(room, q, now) - value(room, q, now - 3 * HOUR)) / 3 : null);
    return {
        id: room.id,
        title: room.title,
        purpose: room.purpose,
        lead: room.instruments[0]?.name ?? null,
        instruments: room.instruments.map((/** @type {any} */ i) => ({
            name: i.name,
            serial: i.serial,
            quantities: i.reads ?? measured,
            every_s: room.every ?? 60,
            last: room.age ? record(room, now).last : null,
        })),
        quantities: room.age ? room.quantities : [],
        first: room.age ? now - room.age : null,
        now: nowOf(room, now),
        trend: { humidity_per_hour: rate("humidity"), temperature_per_hour: rate("temperature") },
        quiet: room.silentSince ? { since: room.silentSince, reason: "no_answer", text: "the instrument did not answer" } : null,
        limits: room.limits ?? [],
        alarms: (room.alarms ?? []).filter((/** @type {any} */ a) => a.state !== "normal"),
        damp_hours: room.age ? { 65: 31.2, 75: 4.4, 80: 0, covered: 702 } : null,
        fitness: room.age && !room.silentSince ? (room.fitness ?? null) : null,
    };
}

/** @param {any} room @param {URLSearchParams} query @param {number} now */
export function seriesOf(room, query, now) {
    const quantity = query.get("quantity") ?? "";
    const units = /** @type {Record<string, string>} */ ({ temperature: "°C", humidity: "%" });
    const answer = series(room, quantity, Number(query.get("from")), Number(query.get("to")), Number(query.get("points") ?? 1000), record(room, now));
    return { zone: room.id, quantity, unit: units[quantity] ?? "", ...answer };
}

/** @param {string} name @param {string} quantity @param {string} rule @param {number} value @param {string} priority */
function limit(name, quantity, rule, value, priority) {
    const unit = quantity === "humidity" ? "%" : "°C";
    return { name, text: `${quantity} ${rule} ${value} ${unit} for 30 min`, quantity, rule, value, priority, source: "common practice" };
}

const AIR = ["temperature", "humidity", ...DERIVED];

/** @param {number} now */
function studio(now) {
    const store = {
        id: "store",
        title: "Store",
        purpose: "store",
        salt: 31,
        t: 17.5,
        rh: 57,
        age: 10 * 365.25 * DAY,
        quantities: AIR,
        instruments: [{ name: "st-1", serial: "41180" }],
        wet: [{ from: now - 2.2 * DAY, rise: 15, fade: 0.7 * DAY }],
        limits: [limit("store-damp", "humidity", "above", 60, "digest"), limit("store-wet", "humidity", "above", 75, "high"), limit("store-dry", "humidity", "below", 40, "low")],
        alarms: [],
    };
    const drying = {
        id: "drying-room",
        title: "Drying room",
        purpose: "drying",
        salt: 7,
        t: 20.5,
        rh: 60,
        age: 10 * 365.25 * DAY,
        quantities: ["temperature", "humidity", "surface_temperature", "door", ...DERIVED, "surface_humidity"],
        instruments: [
            { name: "dr-1", serial: "41177", reads: ["temperature", "humidity", "door"] },
            { name: "dr-wall", serial: "41179", reads: ["surface_temperature"] },
        ],
        wet: [{ from: now - 0.4 * DAY, rise: 12, fade: 2 * DAY }],
        limits: [limit("drying-room-damp", "humidity", "above", 65, "medium")],
        fitness: [
            { work: "varnishing", now: "unfit", until_morning: "unfit", reason: "too damp", caution: "About the air alone: the conservator decides. Solvent vapour: extraction, no ignition source." },
            { work: "gesso", now: "fit", until_morning: "unknown", reason: "until morning: closer to a limit than the sensor can tell", caution: "About the air alone: the conservator decides." },
            { work: "animal glue", now: "fit", until_morning: "fit", reason: "", caution: "About the air alone: the conservator decides." },
        ],
        alarms: [
            {
                id: 12,
                limit: "drying-room-damp",
                zone: "drying-room",
                zone_title: "Drying room",
                instrument: null,
                quantity: "humidity",
                state: "unacknowledged",
                priority: "medium",
                since: now - 0.38 * DAY,
                until: null,
                value: 79.2,
                threshold: 65,
                text: "Humidity above 65 % in the Drying room for 9 h, now 74 %",
            },
            {
                id: 9,
                limit: "drying-room-damp",
                zone: "drying-room",
                zone_title: "Drying room",
                instrument: null,
                quantity: "humidity",
                state: "normal",
                priority: "medium",
                since: now - 3.4 * DAY,
                until: now - 3.1 * DAY,
                value: 67.1,
                threshold: 65,
                text: "Humidity above 65 % in the Drying room, at most 67 %",
            },
        ],
    };
    const bench = {
        id: "bench",
        title: "Frame bench",
        purpose: "bench",
        salt: 19,
        t: 20,
        rh: 54,
        age: 400 * DAY,
        quantities: AIR,
        instruments: [{ name: "fb-1", serial: "41178" }],
        limits: [limit("bench-damp", "humidity", "above", 65, "medium"), limit("bench-dry", "humidity", "below", 35, "medium")],
        gaps: [{ from: now - 3.4 * DAY, to: now - 2.9 * DAY, reason: "no_answer", text: "the instrument did not answer" }],
    };
    const quarantine = {
        id: "quarantine",
        title: "Quarantine",
        purpose: "quarantine",
        salt: 43,
        t: 18,
        rh: 70,
        age: 60 * DAY,
        quantities: AIR,
        instruments: [{ name: "qu-1", serial: "41181" }],
        limits: [limit("quarantine-wet", "humidity", "above", 70, "high")],
        silentSince: now - 5 * HOUR,
        gaps: [{ from: now - 5 * HOUR, to: null, reason: "no_answer", text: "the instrument did not answer" }],
    };
    const crate = { id: "crate", title: "Crate 7", purpose: "crate", salt: 3, t: 18, rh: 50, age: 0, quantities: AIR, instruments: [], limits: [] };
    return [drying, bench, store, quarantine, crate];
}

/** @param {number} now */
const thirty = (now) =>
    Array.from({ length: 30 }, (_, i) => {
        const [, bench] = studio(now);
        return { ...bench, id: `room-${i + 1}`, title: `Room ${i + 1}`, salt: 100 + i * 11, rh: 48 + (i % 7), gaps: [], instruments: [{ name: `r-${i + 1}`, serial: String(5000 + i) }] };
    });

/** @param {number} now */
function hostile(now) {
    const [drying, bench] = studio(now);
    return [
        { ...bench, title: `<script>alert("x")</script>`, instruments: [{ name: `"><img src=x onerror=alert(1)>`, serial: `' OR 1=1 --` }] },
        { ...drying, id: "rtl", title: "غرفة التجفيف (test)", alarms: [{ ...drying.alarms[0], zone: "rtl", text: `<b>Humidity</b> above 65 % & "so on"` }] },
        { ...bench, id: "long", title: `${"Unbreakable".repeat(14)}`, gaps: [], alarms: [] },
    ];
}

/** @param {number} now */
function one(now) {
    const [, bench] = studio(now);
    return [{ ...bench, age: 90, every: 60, gaps: [] }];
}

/** Sensors named, nothing read. @param {number} now */
const waiting = (now) => studio(now).slice(0, 2).map((room) => ({ ...room, age: 0, gaps: [], alarms: [] }));

/** @type {Record<string, {rooms: (now: number) => any[], sensors: number, demo: boolean, name?: string}>} */
export const scenarios = {
    studio: { rooms: studio, sensors: 5, demo: true },
    none: { rooms: () => [], sensors: 0, demo: false },
    waiting: { rooms: waiting, sensors: 3, demo: false },
    one: { rooms: one, sensors: 1, demo: false },
    thirty: { rooms: thirty, sensors: 30, demo: true },
    hostile: { rooms: hostile, sensors: 4, demo: true, name: `"Harbour" & <Lane> 'Studio'` },
};
