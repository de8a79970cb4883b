// twin.js - a chart as rows of a table: the periods of a span and what each held. Pure.
import { summary } from "./sentence.js";

/** @typedef {import("./api.js").Series} Series
 *  @typedef {import("./span.js").Span} Span
 *  @typedef {import("./time.js").Clock} Clock
 *  @typedef {{from: number, to: number, title: string}} Period */

const HOUR = 3600;
const DAY = 86400;

/**
 * Periods that people name (hours, days, months, years), at most about forty of them.
 * @param {Span} span @param {Clock} clock
 * @returns {Period[]}
 */
export function periods(span, clock) {
    const width = span.to - span.from;
    if (width <= 3 * HOUR) return even(span, 600, (t) => clock.time(t));
    if (width <= 1.5 * DAY) return even(span, HOUR, (t) => `${clock.dayName(t)} ${clock.time(t)}`);
    if (width <= 4 * DAY) return even(span, 4 * HOUR, (t) => `${clock.dayName(t)} ${clock.time(t)}`);
    if (width <= 40 * DAY) return calendar(span, clock, (p, i) => [p.year, p.month, p.day + i], (t) => `${clock.dayName(t)} ${clock.date(t)}`);
    if (width <= 3 * 366 * DAY) return calendar(span, clock, (p, i) => [p.year, p.month + i, 1], (t) => `${clock.monthName(t)} ${clock.parts(t).year}`);
    return calendar(span, clock, (p, i) => [p.year + i, 1, 1], (t) => String(clock.parts(t).year));
}

/** @param {Span} span @param {number} step @param {(t: number) => string} title @returns {Period[]} */
function even(span, step, title) {
    const found = [];
    for (let t = Math.floor(span.from / step) * step; t < span.to; t += step)
        found.push({ from: Math.max(t, span.from), to: Math.min(t + step, span.to), title: title(t) });
    return found;
}

/**
 * @param {Span} span @param {Clock} clock
 * @param {(p: import("./time.js").Parts, i: number) => [number, number, number]} day
 * @param {(t: number) => string} title
 * @returns {Period[]}
 */
function calendar(span, clock, day, title) {
    const first = clock.parts(span.from);
    const found = [];
    for (let i = 0; ; i++) {
        const from = clock.midnight(...day(first, i));
        if (from >= span.to) return found;
        const to = clock.midnight(...day(first, i + 1));
        found.push({ from: Math.max(from, span.from), to: Math.min(to, span.to), title: title(from + 60) });
    }
}

/**
 * What a series held in each period; null where it held nothing.
 * @param {Series} series @param {Period[]} list
 */
export function rows(series, list) {
    return list.map((period) => summary(series, period.from, period.to - 1));
}

/**
 * The reading, or bucket, nearest to a time; null in a hole.
 * @param {Series | undefined} series @param {number} t @param {number} everyS
 * @returns {{t: number, min: number, mean: number, max: number} | null}
 */
export function nearest(series, t, everyS) {
    if (!series || series.t.length === 0) return null;
    const aim = t - series.step / 2;
    let low = 0;
    let high = series.t.length - 1;
    while (low < high) {
        const middle = (low + high) >> 1;
        if (series.t[middle] < aim) low = middle + 1;
        else high = middle;
    }
    const i = low > 0 && Math.abs(series.t[low - 1] - aim) < Math.abs(series.t[low] - aim) ? low - 1 : low;
    const reach = Math.max(series.step, everyS) * 1.5;
    if (Math.abs(series.t[i] - aim) > reach) return null;
    return { t: series.t[i], min: series.min[i], mean: series.mean[i], max: series.max[i] };
}
