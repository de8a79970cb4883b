// store.js - what the pages know of the studio, kept fresh from the event stream.
import { useEffect, useState } from "preact/hooks";
import { get } from "./api.js";
import { listen } from "./live.js";
import { makeClock } from "./time.js";

/**
 * @typedef {import("./api.js").Studio} Studio
 * @typedef {import("./api.js").Zone} Zone
 *
 * @typedef {object} State
 * @property {Studio | null} studio
 * @property {Zone[] | null} zones
 * @property {string} error why the last loading failed, "" if it did not
 * @property {{state: "connecting" | "live" | "lost", since: number}} link since: UTC s
 * @property {number} now UTC s by the daemon's clock, moves every few seconds
 * @property {import("./time.js").Clock} clock
 * @property {number} beat grows when the record may have changed in a way events do not tell
 * @property {string} newer version of a daemon that was updated under this page
 */

/* Trends, limits, alarms and quiet states are not in the events; they are asked for anew. */
const REFRESH_MS = 60000;
const TICK_MS = 5000;
const FRESH_MS = 2000;

/** @type {State} */
let state = {
    studio: null,
    zones: null,
    error: "",
    link: { state: "connecting", since: Date.now() / 1000 },
    now: Date.now() / 1000,
    clock: makeClock("UTC"),
    beat: 0,
    newer: "",
};
/** @type {Set<() => void>} */
const watchers = new Set();
/* Daemon's clock less the browser's, s: a tablet's clock may be hours off. */
let skew = 0;

/** @param {Partial<State>} change */
function set(change) {
    state = { ...state, ...change };
    for (const watcher of watchers) watcher();
}

/** @returns {State} */
export function useStudio() {
    const [, again] = useState(0);
    const drawn = state;
    useEffect(() => {
        const watcher = () => again((n) => n + 1);
        watchers.add(watcher);
        if (state !== drawn) watcher(); // something came between drawing and watching
        return () => {
            watchers.delete(watcher);
        };
    }, []);
    return state;
}

let loading = false;
let again = false;
/* When what we know was asked for, ms. */
let asked = 0;

/** Asks for studio and zones; a call during a call makes one more afterwards. */
export async function load() {
    if (loading) {
        again = true;
        return;
    }
    loading = true;
    asked = Date.now();
    try {
        const [studio, { zones }] = await Promise.all([get("studio"), get("zones")]);
        skew = studio.now - Date.now() / 1000;
        const clock = studio.timezone === state.studio?.timezone ? state.clock : makeClock(studio.timezone);
        set({ studio, zones, clock, now: studio.now, error: "" });
    } catch (error) {
        set({ error: error instanceof Error ? error.message : String(error) });
    } finally {
        loading = false;
        if (again) {
            again = false;
            void load();
        }
    }
}

/** @type {ReturnType<typeof setTimeout> | undefined} */
let soon;

/** Loads a moment later, once for several calls. */
function loadSoon() {
    clearTimeout(soon);
    soon = setTimeout(load, 400);
}

/** @param {{t: number, zones: {id: string, now: any}[]}} data */
function readings(data) {
    if (!state.zones) return;
    const fresh = new Map(data.zones.map((zone) => [zone.id, zone.now]));
    let turned = false;
    const zones = state.zones.map((zone) => {
        const now = fresh.get(zone.id);
        if (!now) return zone;
        turned ||= zone.quiet !== null || zone.first === null;
        return { ...zone, now };
    });
    const studio = state.studio && {
        ...state.studio,
        recording: { ...state.studio.recording, last_commit: data.t },
    };
    set({ zones, studio, now: Date.now() / 1000 + skew });
    if (turned) loadSoon();
}

/** @param {string} name @param {any} data */
function onEvent(name, data) {
    if (name === "readings") return readings(data);
    if (name === "hello") {
        if (typeof data.now === "number") skew = data.now - Date.now() / 1000;
        if (state.studio && data.version && data.version !== state.studio.version) set({ newer: data.version });
    }
    if (name !== "hello") return loadSoon();
    // The first greeting comes while the page loads; there is nothing to ask again.
    if (state.error === "" && Date.now() - asked < FRESH_MS) return;
    loadSoon();
    set({ beat: state.beat + 1 });
}

/** Begins; called once. @returns {Promise<void>} when the first answer is there, or none came */
export function start() {
    listen(onEvent, (link, sinceMs) => {
        const was = state.link.state;
        set({ link: { state: link, since: sinceMs / 1000 + skew } });
        if (link === "live" && was === "lost") {
            // What happened while we heard nothing must be asked for.
            set({ beat: state.beat + 1 });
            loadSoon();
        }
    });
    setInterval(() => document.visibilityState === "visible" && load(), REFRESH_MS);
    setInterval(() => set({ now: Date.now() / 1000 + skew }), TICK_MS);
    document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && loadSoon());
    return load();
}
