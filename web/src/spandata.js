// spandata.js - the series of a zone for the span its chart shows.
import { useEffect, useRef, useState } from "preact/hooks";
import { get, getSeries } from "./api.js";

/** @typedef {import("./api.js").Series} Series
 *  @typedef {import("./span.js").Span} Span
 *  @typedef {{span: Span, points: number, at: number, beat: number}} Loaded */

/* A drag or a turn of the wheel changes the span many times a second. */
const PAUSE_MS = 120;
const FRESH_S = 60;

/**
 * Asks for more than is in sight, so that a small move shows readings at once.
 * @param {Span} span @param {number} now @returns {Span}
 */
function padded(span, now) {
    const pad = (span.to - span.from) / 2;
    return { from: span.from - pad, to: Math.min(span.to + pad, now + 60) };
}

/** @param {Loaded | undefined} have @param {Span} span @param {number} now @param {number} beat */
function serves(have, span, now, beat) {
    if (!have || have.beat !== beat) return false;
    const width = span.to - span.from;
    const ratio = (have.span.to - have.span.from) / width;
    const inside = have.span.from <= span.from && have.span.to >= Math.min(span.to, now - FRESH_S);
    return inside && ratio < 2.6 && (have.span.to < now - FRESH_S || now - have.at < FRESH_S);
}

/**
 * @param {import("./api.js").Zone} zone @param {string[]} chosen quantities to draw
 * @param {Span} span @param {number} width of the chart in pixels @param {number} now @param {number} beat
 * @returns {{series: Record<string, Series>, busy: boolean, error: string}}
 */
export function useSpanData(zone, chosen, span, width, now, beat) {
    const [series, setSeries] = useState(/** @type {Record<string, Series>} */ ({}));
    const [busy, setBusy] = useState(false);
    const [error, setError] = useState("");
    const loaded = useRef(/** @type {Record<string, Loaded>} */ ({}));
    const round = Math.floor(now / 30);
    useEffect(() => {
        if (width <= 0) return;
        // What is drawn comes first; what only the cursor reads out follows.
        const rest = zone.quantities.filter((name) => !chosen.includes(name));
        const wanted = (/** @type {string[]} */ names) => names.filter((name) => !serves(loaded.current[name], span, now, beat));
        if (wanted([...chosen, ...rest]).length === 0) return;
        const stop = new AbortController();
        const ask = async (/** @type {string} */ name, /** @type {number} */ points) => {
            const wide = padded(span, now);
            const found = await getSeries(zone.id, name, wide.from, wide.to, points, stop.signal);
            loaded.current[name] = { span: wide, points, at: now, beat };
            setSeries((old) => ({ ...old, [name]: found }));
        };
        const timer = setTimeout(async () => {
            setBusy(true);
            try {
                await Promise.all(wanted(chosen).map((name) => ask(name, width * 2)));
                setError("");
                setBusy(false);
                for (const name of wanted(rest)) await ask(name, width);
            } catch (problem) {
                if (!stop.signal.aborted) setError(problem instanceof Error ? problem.message : String(problem));
            } finally {
                if (!stop.signal.aborted) setBusy(false);
            }
        }, PAUSE_MS);
        return () => {
            clearTimeout(timer);
            stop.abort();
        };
    }, [zone.id, zone.quantities.join(), chosen.join(), span.from, span.to, width, round, beat]);
    return { series, busy, error };
}

/**
 * Alarms of a zone that touch the span, asked for when the span has come to rest.
 * @param {string} zone @param {Span} span @param {unknown} fresh changes when to ask anew
 * @returns {import("./api.js").Alarm[]}
 */
export function useSpanAlarms(zone, span, fresh) {
    const [alarms, setAlarms] = useState(/** @type {import("./api.js").Alarm[]} */ ([]));
    useEffect(() => {
        const stop = new AbortController();
        const query = new URLSearchParams({
            state: "all",
            zone,
            from: String(Math.floor(span.from)),
            to: String(Math.ceil(span.to)),
        });
        get(`alarms?${query}`, stop.signal).then(
            (answer) => setAlarms(answer.alarms),
            () => undefined, // the list keeps what it had; the notice above the page says why
        );
        return () => stop.abort();
    }, [zone, span.from, span.to, fresh]);
    return alarms;
}

/**
 * A value that follows only when it has been still for a moment.
 * @template T @param {T} value @param {number} ms @param {string} key what makes it another value
 * @returns {T}
 */
export function useSettled(value, ms, key) {
    const [settled, setSettled] = useState(value);
    useEffect(() => {
        const timer = setTimeout(() => setSettled(value), ms);
        return () => clearTimeout(timer);
    }, [key]);
    return settled;
}
