// week.js - the weekly chart of a room: temperature above, humidity below, midnight lines.
import { html } from "htm/preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { band, duration, excursions } from "./sentence.js";
import { figure } from "./quantity.js";

/** @typedef {import("./api.js").Series} Series
 *  @typedef {import("./api.js").Limit} Limit
 *  @typedef {import("./time.js").Clock} Clock
 *  @typedef {{top: number, height: number, least: number, most: number, step: number, name: string}} Pane */

const RIGHT = 34; // room for the scale
const FOOT = 20; // room for the day names
const CHAR = 6.2; // about the width of a letter of a note

/**
 * A scale that is the same from room to room as long as the air allows.
 * @param {string} name @param {Series | undefined} series @param {number} least @param {number} most
 * @param {number} step @param {number | null} last
 */
function scale(name, series, least, most, step, last) {
    let low = least;
    let high = most;
    const values = [...(series?.min ?? []), ...(series?.max ?? []), ...(last === null ? [] : [last])];
    for (const value of values) {
        if (value < low) low = Math.floor(value / step) * step;
        if (value > high) high = Math.ceil(value / step) * step;
    }
    // Air that swings widely gets wider rules, not more of them.
    const wide = (high - low) / step > 7 ? step * 2 : step;
    return { name, least: low, most: high, step: wide };
}

/** @param {Pane} pane @param {number} value */
const at = (pane, value) => pane.top + pane.height * (1 - (value - pane.least) / (pane.most - pane.least));

/**
 * Runs of points without a hole between them.
 * @param {Series} series @param {number} reach s between two points that still belong together
 */
function runs(series, reach) {
    /** @type {number[][]} */
    const found = [];
    series.t.forEach((t, i) => {
        const before = series.t[i - 1];
        const hole = i === 0 || t - before > reach || series.gaps.some((gap) => gap.from < t && (gap.to ?? Infinity) > before + series.step);
        if (hole) found.push([]);
        found[found.length - 1].push(i);
    });
    return found;
}

/** Width of an element, kept up to date. @returns {[any, number]} */
export function useWidth() {
    const ref = useRef(/** @type {HTMLElement | null} */ (null));
    const [width, setWidth] = useState(0);
    useEffect(() => {
        const element = ref.current;
        if (!element) return;
        const observer = new ResizeObserver(() => setWidth(Math.floor(element.clientWidth)));
        observer.observe(element);
        return () => observer.disconnect();
    }, []);
    return [ref, width];
}

/**
 * @param {{week: import("./weekdata.js").Week | null, limits: Limit[], clock: Clock, now: number,
 *          last: Record<string, number | null>, label: string, height: number}} props
 */
export function WeekChart({ week, limits, clock, now, last, label, height }) {
    const [ref, width] = useWidth();
    const minute = Math.floor(now / 60) * 60;
    const drawn = useMemo(
        () => width > 0 && drawing({ week, limits, clock, now: minute, last, width, height }),
        [week, limits, clock, minute, last.temperature, last.humidity, width, height],
    );
    return html`<div class="week" ref=${ref}>
        ${drawn && html`<svg width=${width} height=${height} viewBox=${`0 0 ${width} ${height}`} role="img" aria-label=${label}>${drawn}</svg>`}
    </div>`;
}

/** @param {any} props */
function drawing({ week, limits, clock, now, last, width, height }) {
    const inner = width - RIGHT;
    const to = now;
    const from = now - 7 * 86400;
    /** @param {number} t */
    const x = (t) => ((t - from) / (to - from)) * inner;
    const paper = height - FOOT;
    const split = Math.round(paper * 0.36);
    /** @type {Pane[]} */
    const panes = [
        { ...scale("temperature", week?.series.temperature, 10, 25, 5, last.temperature), top: 4, height: split - 10 },
        { ...scale("humidity", week?.series.humidity, 30, 80, 10, last.humidity), top: split + 10, height: paper - split - 12 },
    ];
    const midnights = clock.midnights(from, to);
    return [
        ...panes.map((pane) => ground(pane, limits, inner)),
        midnights.map((/** @type {number} */ t) => html`<line class="midnight" x1=${x(t)} x2=${x(t)} y1="0" y2=${paper} />`),
        html`<line class="edge" x1=${inner} x2=${inner} y1="0" y2=${paper} />`,
        dayNames(midnights, from, to, x, height, clock),
        week && gaps(week, x, inner, panes, paper),
        week && panes.map((pane) => trace(pane, week.series[pane.name], limits, x, last[pane.name], to)),
        panes.map((pane) => last[pane.name] !== null && html`<circle class=${`pen ${pane.name}`} cx=${inner} cy=${at(pane, last[pane.name]).toFixed(1)} r="3" />`),
    ];
}

/** Rules, scale and the band between the nearest limits. @param {Pane} pane @param {Limit[]} limits @param {number} inner */
function ground(pane, limits, inner) {
    const { above, below } = band(limits, pane.name);
    const unit = pane.name === "temperature" ? "°" : "";
    const rules = [];
    for (let v = Math.ceil(pane.least / pane.step) * pane.step; v <= pane.most; v += pane.step) rules.push(v);
    const inside = (/** @type {number | null} */ v) => v !== null && v > pane.least && v < pane.most;
    const edges = /** @type {number[]} */ ([above, below].filter(inside));
    const top = above === null ? pane.top : Math.max(pane.top, at(pane, above));
    const foot = below === null ? pane.top + pane.height : Math.min(pane.top + pane.height, at(pane, below));
    // A scale figure gives way to a limit's beside it.
    const clear = (/** @type {number} */ v) => edges.every((edge) => Math.abs(at(pane, edge) - at(pane, v)) > 11) && (pane.name === "humidity" || v % 10 === 0);
    return html`
        ${(above !== null || below !== null) && foot > top && html`<rect class="band" x="0" y=${top} width=${inner} height=${foot - top} />`}
        ${rules.map((v) => html`<line class="rule" x1="0" x2=${inner} y1=${at(pane, v)} y2=${at(pane, v)} />
            ${clear(v) && html`<text class="scale" x=${inner + 5} y=${at(pane, v) + 4}>${v}${unit}</text>`}`)}
        ${edges.map((v) => html`<line class="limit" x1="0" x2=${inner + 4} y1=${at(pane, v)} y2=${at(pane, v)} />
            <text class="scale limit-figure" x=${inner + 5} y=${at(pane, v) + 4}>${figure("humidity", v)}${unit}</text>`)}
    `;
}

/** @param {number[]} midnights @param {number} from @param {number} to @param {(t: number) => number} x @param {number} height @param {Clock} clock */
function dayNames(midnights, from, to, x, height, clock) {
    const edges = [from, ...midnights, to];
    const today = clock.startOfDay(to);
    return edges.slice(0, -1).map((start, i) => {
        const room = x(edges[i + 1]) - x(start);
        const name = start >= today ? "today" : clock.dayName(start + 60);
        return room > name.length * CHAR && html`<text class="day" x=${x(start) + room / 2} y=${height - 5}>${name}</text>`;
    });
}

/** @param {import("./weekdata.js").Week} week @param {(t: number) => number} x @param {number} inner @param {Pane[]} panes @param {number} paper */
function gaps(week, x, inner, panes, paper) {
    const series = week.series.humidity ?? week.series.temperature;
    if (!series) return null;
    return series.gaps.map((gap) => {
        const x0 = Math.max(0, x(gap.from));
        const x1 = Math.min(inner, x(gap.to ?? Infinity));
        const room = x1 - x0;
        if (room < 1) return null;
        const span = duration((gap.to ?? week.to) - gap.from);
        const note = [`${gap.text}, ${span}`, span].find((words) => words.length * CHAR < room - 4);
        const y = panes[1].top + panes[1].height - 8;
        return html`<rect class="gap" x=${x0} y="0" width=${room} height=${paper} />
            <path class="gap-line" d=${`M${x0} ${y}H${x1}`} />
            ${note && html`<text class="note" x=${(x0 + x1) / 2} y=${y - 6}>${note}</text>`}`;
    });
}

/** @param {Pane} pane @param {Series | undefined} series @param {Limit[]} limits @param {(t: number) => number} x @param {number | null} last @param {number} to */
function trace(pane, series, limits, x, last, to) {
    if (!series) return null;
    const reach = Math.max(series.step * 2.5, 900);
    const all = runs(series, reach);
    // A bucket's mean stands for its middle.
    const px = (/** @type {number} */ i) => x(Math.min(series.t[i] + series.step / 2, to)).toFixed(1);
    const py = (/** @type {number} */ value) => at(pane, value).toFixed(1);
    const line = all.map((run) => {
        const points = run.map((i) => `${px(i)} ${py(series.mean[i])}`);
        return points.length === 1 ? `M${points[0]}h0.1` : `M${points.join("L")}`;
    });
    const end = series.t.length - 1;
    const joined = last !== null && end >= 0 && to - series.t[end] < Math.max(reach, 1800);
    if (joined) line.push(`M${px(end)} ${py(series.mean[end])}L${x(to).toFixed(1)} ${py(last)}`);
    const beyond = excursions(series, limits).map((e) => {
        const inside = series.t.map((_, i) => i).filter((i) => series.t[i] >= e.from && series.t[i] <= e.to);
        const least = (/** @type {number} */ v) => (e.side === "above" ? Math.max(v, e.limit) : Math.min(v, e.limit));
        const limit = py(e.limit);
        return `M${px(inside[0])} ${limit}L${inside.map((i) => `${px(i)} ${py(least(series.mean[i]))}`).join("L")}L${px(inside[inside.length - 1])} ${limit}Z`;
    });
    return html`
        ${beyond.length > 0 && html`<path class=${`beyond ${pane.name}`} fill=${`url(#hatch-${pane.name})`} d=${beyond.join("")} />`}
        <path class=${`trace ${pane.name}`} d=${line.join("")} />
    `;
}

/** The hatchings, once a page. */
export function Hatchings() {
    return html`<svg class="hatchings" width="0" height="0" aria-hidden="true">
        <defs>
            ${["temperature", "humidity"].map((name) => html`<pattern id=${`hatch-${name}`} width="4" height="4" patternUnits="userSpaceOnUse" patternTransform="rotate(35)">
                <line class=${`hatch ${name}`} x1="0" x2="0" y1="0" y2="4" />
            </pattern>`)}
        </defs>
    </svg>`;
}
