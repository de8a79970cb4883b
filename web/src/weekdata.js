// weekdata.js - the last seven days of a zone, asked for when its strip comes into sight.
import { useEffect, useState } from "preact/hooks";
import { getSeries } from "./api.js";

/** @typedef {import("./api.js").Series} Series
 *  @typedef {{from: number, to: number, series: Record<string, Series>, error: string}} Week */

const DAY = 86400;
const WEEK_S = 7 * DAY;
/* A bucket of 15 minutes: the finest the record keeps beside the readings themselves. */
const POINTS = WEEK_S / 900;
const STALE_S = 300;
/* A browser opens six connections to a host; the stream and other questions need some. */
const AT_ONCE = 3;

/** @type {Map<string, {week: Week, beat: number, at: number}>} */
const kept = new Map();
/** @type {(() => Promise<void>)[]} */
const waiting = [];
let running = 0;

function next() {
    while (running < AT_ONCE && waiting.length > 0) {
        const job = /** @type {() => Promise<void>} */ (waiting.shift());
        running += 1;
        void job().finally(() => {
            running -= 1;
            next();
        });
    }
}

/** @param {string} id @param {string[]} names @param {number} now @returns {Promise<Week>} */
async function fetchWeek(id, names, now) {
    const from = now - WEEK_S;
    /** @type {Week} */
    const week = { from, to: now, series: {}, error: "" };
    for (const name of names) {
        try {
            week.series[name] = await getSeries(id, name, from, now, POINTS);
        } catch (error) {
            week.error = error instanceof Error ? error.message : String(error);
        }
    }
    return week;
}

/**
 * @param {import("./api.js").Zone} zone @param {number} now @param {number} beat
 * @param {boolean} seen the strip is, or was, in sight
 * @returns {Week | null}
 */
export function useWeek(zone, now, beat, seen) {
    const [, again] = useState(0);
    const names = ["temperature", "humidity"].filter((name) => zone.quantities.includes(name));
    const found = kept.get(zone.id);
    const wanted =
        seen && names.length > 0 && (!found || found.beat !== beat || now - found.at > STALE_S || Object.keys(found.week.series).length < names.length);
    // A failed question is asked again at the next tick of this clock, not at once.
    const round = Math.floor(now / 30);
    useEffect(() => {
        if (!wanted) return;
        let gone = false;
        waiting.push(async () => {
            if (gone) return;
            const week = await fetchWeek(zone.id, names, now);
            if (week.error && found) return;
            kept.set(zone.id, { week, beat, at: now });
            if (!gone) again((n) => n + 1);
        });
        next();
        return () => {
            gone = true;
        };
    }, [zone.id, wanted, beat, round, names.join()]);
    return found?.week ?? null;
}

/**
 * Last values, from now or else from the week.
 * @param {import("./api.js").Zone} zone @param {Week | null} week
 */
export function lastKnown(zone, week) {
    /** @type {Record<string, {value: number, t: number}>} */
    const known = {};
    for (const name of ["temperature", "humidity"]) {
        const series = week?.series[name];
        const end = series ? series.t.length - 1 : -1;
        if (zone.now?.[name]) known[name] = zone.now[name];
        else if (series && end >= 0) known[name] = { value: series.mean[end], t: series.t[end] + series.step };
    }
    return known;
}
