// axis.js - times along the foot of a chart, in the studio's time zone.

/** @typedef {import("./time.js").Clock} Clock */

const MINUTE = 60;
const DAY = 86400;
const MONTH = 28 * DAY;
const YEAR = 365 * DAY;

/**
 * The words at the ticks: a fine part at each, a coarse part below the first and at each change.
 * @param {number[]} ticks @param {number} step s between ticks @param {Clock} clock
 * @returns {string[]}
 */
export function tickWords(ticks, step, clock) {
    const words = ticks.map((t) => {
        const p = clock.parts(t);
        if (step >= YEAR) return [String(p.year), ""];
        if (step >= MONTH) return [clock.monthName(t), String(p.year)];
        if (step >= DAY) return [String(p.day), `${clock.monthName(t)} ${p.year}`];
        const seconds = step >= MINUTE ? "" : `:${String(p.second).padStart(2, "0")}`;
        return [clock.time(t) + seconds, `${clock.dayName(t)} ${p.day} ${clock.monthName(t)}`];
    });
    return words.map(([fine, coarse], i) => {
        const change = i === 0 || coarse !== words[i - 1][1];
        // The first tick yields when the next one brings a coarse part of its own.
        const crowded = i === 0 && words.length > 1 && words[1][1] !== coarse;
        return coarse && change && !crowded ? `${fine}\n${coarse}` : fine;
    });
}
