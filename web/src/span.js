// span.js - the span of time a chart shows: how it is moved, widened and kept within reach.
//
// Pure arithmetic on {from, to} in UTC seconds.

/** @typedef {{from: number, to: number}} Span */

const HOUR = 3600;
const DAY = 86400;

/* Narrower than this a chart would show single readings and much emptiness. */
export const LEAST_S = HOUR;

/** @type {{name: string, title: string, key: string, seconds: number}[]} seconds 0: all there is */
export const PRESETS = [
    { name: "hour", title: "Hour", key: "h", seconds: HOUR },
    { name: "day", title: "Day", key: "d", seconds: DAY },
    { name: "week", title: "Week", key: "w", seconds: 7 * DAY },
    { name: "month", title: "Month", key: "m", seconds: 31 * DAY },
    { name: "year", title: "Year", key: "y", seconds: 366 * DAY },
    { name: "all", title: "All", key: "a", seconds: 0 },
];

/**
 * The span of a preset that ends now.
 * @param {string} name @param {number | null} first time of the first reading @param {number} now
 * @returns {Span}
 */
export function preset(name, first, now) {
    const seconds = PRESETS.find((p) => p.name === name)?.seconds ?? 7 * DAY;
    if (seconds > 0) return { from: now - seconds, to: now };
    return { from: Math.min(first ?? now - DAY, now - LEAST_S), to: now };
}

/**
 * Widens (factor above 1) or narrows around a moment that stays where it is.
 * @param {Span} span @param {number} factor @param {number} [centre]
 * @returns {Span}
 */
export function zoom(span, factor, centre = (span.from + span.to) / 2) {
    return { from: centre - (centre - span.from) * factor, to: centre + (span.to - centre) * factor };
}

/** @param {Span} span @param {number} share of its own width; below 0 is earlier @returns {Span} */
export function move(span, share) {
    const by = (span.to - span.from) * share;
    return { from: span.from + by, to: span.to + by };
}

/**
 * Not narrower than an hour, not wider than the record, never wholly outside it.
 * @param {Span} span @param {number | null} first @param {number} now
 * @returns {Span}
 */
export function within(span, first, now) {
    const begin = Math.min(first ?? now - DAY, now - LEAST_S);
    const most = Math.max(now - begin, LEAST_S);
    const width = Math.max(LEAST_S, Math.min(span.to - span.from, most));
    // A span made wider or narrower here keeps its middle.
    const middle = (span.from + span.to) / 2;
    let from = middle - width / 2;
    if (from + width > now) from = now - width;
    if (from < begin) from = begin;
    return { from: Math.round(from), to: Math.round(from + width) };
}
