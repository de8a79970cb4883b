// axis.js - times along the foot of a chart, at the studio's own hours, days and months.

/** @typedef {import("./time.js").Clock} Clock
 *  @typedef {{unit: "second" | "day" | "month", size: number, seconds: number}} Step */

const DAY = 86400;
const MONTH = 30.4 * DAY;

/** @param {"second" | "day" | "month"} unit @param {number} each @param {number[]} sizes @returns {Step[]} */
const steps = (unit, each, sizes) => sizes.map((size) => ({ unit, size, seconds: size * each }));

const STEPS = [
    ...steps("second", 1, [60, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200]),
    ...steps("day", DAY, [1, 2, 5, 10]),
    ...steps("month", MONTH, [1, 2, 3, 6, 12, 24, 60, 120]),
];

/**
 * @param {number} from @param {number} to @param {number} most how many ticks there is room for
 * @returns {Step}
 */
export function stepFor(from, to, most) {
    return STEPS.find((step) => (to - from) / step.seconds <= most) ?? STEPS[STEPS.length - 1];
}

/**
 * Ticks of a step from `from` to `to`. A day of 23 or 25 hours keeps its midnights.
 * @param {number} from @param {number} to @param {Step} step @param {Clock} clock
 * @returns {number[]}
 */
export function ticks(from, to, step, clock) {
    const p = clock.parts(from);
    const found = [];
    if (step.unit === "month") {
        const first = Math.floor((p.year * 12 + p.month - 1) / step.size) * step.size;
        for (let m = first; ; m += step.size) {
            const t = clock.midnight(Math.floor(m / 12), (m % 12) + 1, 1);
            if (t > to) return found;
            if (t >= from) found.push(t);
        }
    }
    for (let i = 0; ; i++) {
        const day = clock.midnight(p.year, p.month, p.day + i);
        if (day > to) return found;
        if (step.unit === "day") {
            // Counted from the first of each month; a last short step is left out.
            const n = clock.parts(day).day - 1;
            if (day >= from && n % step.size === 0 && (n < 28 || step.size < 5)) found.push(day);
            continue;
        }
        const next = clock.midnight(p.year, p.month, p.day + i + 1);
        for (let t = day; t < next && t <= to; t += step.size) if (t >= from) found.push(t);
    }
}

/**
 * The words at the ticks: a fine part at each, a coarse part below where it changes.
 * @param {number[]} at @param {Step} step @param {Clock} clock
 * @returns {string[]}
 */
export function tickWords(at, step, clock) {
    const words = at.map((t) => {
        const p = clock.parts(t);
        if (step.seconds >= 12 * MONTH) return [String(p.year), ""];
        if (step.unit === "month") return [clock.monthName(t), String(p.year)];
        if (step.unit === "day") return [String(p.day), `${clock.monthName(t)} ${p.year}`];
        return [clock.time(t), `${clock.dayName(t)} ${p.day} ${clock.monthName(t)}`];
    });
    return words.map(([fine, coarse], i) => {
        const change = i === 0 || coarse !== words[i - 1][1];
        // The first tick yields when the next one brings a coarse part of its own.
        const crowded = i === 0 && words.length > 1 && words[1][1] !== coarse;
        return coarse && change && !crowded ? `${fine}\n${coarse}` : fine;
    });
}
