// chart.js - the chart of a zone: one pane a unit, one above the other, on one span of time.
import { html } from "htm/preact";
import { useEffect, useLayoutEffect, useRef } from "preact/hooks";
import uPlot from "uplot";
import { stepFor, ticks, tickWords } from "./axis.js";
import { band, excursions } from "./sentence.js";
import { quantity } from "./quantity.js";
import { move, zoom } from "./span.js";

/**
 * @typedef {import("./api.js").Series} Series
 * @typedef {import("./api.js").Limit} Limit
 * @typedef {import("./api.js").Alarm} Alarm
 * @typedef {import("./span.js").Span} Span
 * @typedef {import("./time.js").Clock} Clock
 * @typedef {{t: number, value: number}} Point
 *
 * @typedef {object} Drawn what the drawing hooks look at; a ref, so that a pane is not made anew
 * @property {Span} span
 * @property {Record<string, Series>} series
 * @property {Limit[]} limits
 * @property {Alarm[]} alarms
 * @property {Clock} clock
 * @property {number} now
 *
 * @typedef {object} ChartProps
 * @property {string[]} chosen
 * @property {Record<string, Point[]>} tails readings that came after the series was asked for
 * @property {number} width
 * @property {(span: Span) => void} onSpan
 * @property {number | null} cursor
 * @property {(t: number | null) => void} onCursor
 */

const LEFT = 46;
const RIGHT = 14;
const FOOT = 40;
/* In a wider span the lines at which alarms began would be a fence before the readings. */
const FENCE_S = 62 * 86400;

/** Colours come from the style sheet, so that themes and print need no second list. @param {string} name */
function token(name) {
    const kept = tokens.get(name);
    if (kept !== undefined) return kept;
    const found = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    tokens.set(name, found);
    return found;
}
/** @type {Map<string, string>} kept between frames, forgotten when the theme changes */
const tokens = new Map();
/** @type {Record<string, string>} */
const INK = { warm: "--warm", wet: "--wet", plain: "--ink" };

/** Quantities by pane, in the order in which they are listed. @param {string[]} chosen */
export function panesOf(chosen) {
    /** @type {Map<string, string[]>} */
    const panes = new Map();
    for (const name of chosen) {
        const { pane } = quantity(name);
        panes.set(pane, [...(panes.get(pane) ?? []), name]);
    }
    return [...panes.entries()].map(([name, names]) => ({ name, names }));
}

/** @param {string} pane @param {boolean} narrow */
export function paneHeight(pane, narrow) {
    if (pane.startsWith("contact")) return 56;
    if (pane === "percent") return narrow ? 200 : 250;
    return narrow ? 130 : 160;
}

/** Height of the whole chart, known before it is drawn. @param {string[]} chosen @param {boolean} narrow */
export function chartHeight(chosen, narrow) {
    return panesOf(chosen).reduce((sum, pane) => sum + paneHeight(pane.name, narrow), FOOT);
}

/**
 * Columns for one quantity: times, least, most, mean, with an empty point in every hole.
 * @param {Series} series @param {Point[]} tail
 * @returns {[number[], (number | null)[], (number | null)[], (number | null)[]]}
 */
export function columns(series, tail) {
    /** @type {[number[], (number | null)[], (number | null)[], (number | null)[]]} */
    const out = [[], [], [], []];
    /** @param {number} t @param {number | null} least @param {number | null} most @param {number | null} mean */
    const put = (t, least, most, mean) => {
        const before = out[0][out[0].length - 1];
        if (before !== undefined && t <= before) return;
        out[0].push(t);
        out[1].push(least);
        out[2].push(most);
        out[3].push(mean);
    };
    const { step } = series;
    let gap = 0;
    series.t.forEach((t, i) => {
        const before = i > 0 ? series.t[i - 1] : t;
        while (gap < series.gaps.length && (series.gaps[gap].to ?? Infinity) <= before) gap += 1;
        const inGap = gap < series.gaps.length && series.gaps[gap].from < t && i > 0;
        if (i > 0 && (inGap || (step > 0 && t - before > step * 2.5))) put(before + step + (t - before - step) / 2, null, null, null);
        put(t + step / 2, series.min[i], series.max[i], series.mean[i]);
    });
    for (const point of tail) put(point.t, point.value, point.value, point.value);
    return out;
}

/** @param {ChartProps & Drawn} props */
export function Chart(props) {
    const { chosen, width, span, onSpan, onCursor } = props;
    const narrow = width < 520;
    const box = useRef(/** @type {HTMLElement | null} */ (null));
    const plots = useRef(/** @type {uPlot[]} */ ([]));
    const drawn = useRef(/** @type {Drawn} */ (props));
    drawn.current = props;
    const acts = useRef({ onSpan, onCursor });
    acts.current = { onSpan, onCursor };
    const panes = panesOf(chosen);
    const shape = `${chosen.join()} ${width}`;

    useLayoutEffect(() => {
        if (!box.current || width <= 0) return;
        const hosts = /** @type {HTMLElement[]} */ ([...box.current.children]);
        const made = panes.map((pane, i) => makePane(hosts[i], pane, i === panes.length - 1, width, narrow, drawn, acts));
        plots.current = made;
        const stop = made.map((plot) => gestures(plot, drawn, acts));
        return () => {
            stop.forEach((end) => end());
            made.forEach((plot) => plot.destroy());
            plots.current = [];
        };
    }, [shape]);

    useLayoutEffect(() => {
        plots.current.forEach((plot, i) => {
            const tables = panes[i].names.map((name) => {
                const series = props.series[name];
                return /** @type {any} */ (series ? columns(series, props.tails[name] ?? []) : [[], [], [], []]);
            });
            plot.batch(() => {
                plot.setData(tables.length === 1 ? tables[0] : uPlot.join(tables), false);
                plot.setScale("x", { min: span.from, max: span.to });
            });
        });
    }, [shape, props.series, props.tails]);

    useLayoutEffect(() => {
        plots.current.forEach((plot) => plot.setScale("x", { min: span.from, max: span.to }));
    }, [shape, span.from, span.to]);

    // The keys move the cursor too; the mouse has moved it already.
    useLayoutEffect(() => {
        for (const plot of plots.current)
            plot.setCursor(props.cursor === null ? { left: -10, top: -10 } : { left: plot.valToPos(props.cursor, "x"), top: 10 }, false);
    }, [shape, props.cursor, span.from, span.to]);

    useEffect(() => {
        plots.current.forEach((plot) => plot.redraw(false));
    }, [props.alarms, props.limits]);

    useEffect(() => {
        const again = () => {
            tokens.clear();
            plots.current.forEach((plot) => plot.redraw(false, true));
        };
        const queries = ["(prefers-color-scheme: dark)", "print"].map((query) => matchMedia(query));
        queries.forEach((query) => query.addEventListener("change", again));
        return () => queries.forEach((query) => query.removeEventListener("change", again));
    }, []);

    return html`<div class="panes" ref=${box}>${panes.map((pane) => html`<div class="pane" key=${`${pane.name} ${pane.names.join()}`}></div>`)}</div>`;
}

/**
 * @param {HTMLElement} host @param {{name: string, names: string[]}} pane @param {boolean} last
 * @param {number} width @param {boolean} narrow @param {{current: Drawn}} drawn
 * @param {{current: {onSpan: (s: Span) => void, onCursor: (t: number | null) => void}}} acts
 */
function makePane(host, pane, last, width, narrow, drawn, acts) {
    const contact = pane.name.startsWith("contact");
    const step = (/** @type {number} */ from, /** @type {number} */ to) => stepFor(from, to, (width - LEFT - RIGHT) / (narrow ? 46 : 76));
    const font = `12px ${token("--sans")}`;
    const lines = pane.names.flatMap((name) => {
        const q = quantity(name);
        const stroke = () => token(INK[q.ink]);
        const edge = { scale: "y", stroke: "transparent", width: 0, points: { show: false }, paths: uPlot.paths.linear?.() };
        const paths = contact ? uPlot.paths.stepped?.({ align: 1 }) : undefined;
        return [edge, edge, { scale: "y", stroke, width: 1.6, dash: q.dash, paths, points: { show: lonely, size: 6, fill: stroke } }];
    });
    const bands = pane.names.map((name, i) => ({
        series: /** @type {[number, number]} */ ([i * 3 + 2, i * 3 + 1]),
        fill: () => `${token(INK[quantity(name).ink])}38`,
    }));
    const unit = contact ? quantity(pane.names[0]).short : quantity(pane.names[0]).unit || quantity(pane.names[0]).short;
    return new uPlot(
        {
            width,
            height: paneHeight(pane.name, narrow) + (last ? FOOT : 0),
            padding: [8, RIGHT, last ? 0 : 8, 0],
            legend: { show: false },
            cursor: {
                sync: { key: "zone", scales: ["x", null] },
                drag: { x: true, y: false, setScale: false, dist: 8 },
                points: { show: false },
                y: false,
                bind: { dblclick: () => null },
            },
            scales: { x: { time: true, auto: false }, y: { auto: true, range: (_, low, high) => extent(pane, drawn.current.limits, low, high) } },
            axes: [
                {
                    stroke: () => token("--faint"),
                    grid: { stroke: () => token("--rule"), width: 1 },
                    ticks: { show: false },
                    font,
                    size: last ? FOOT : 0,
                    gap: 6,
                    splits: (_, __, from, to) => ticks(from, to, step(from, to), drawn.current.clock),
                    values: (plot, at) => (last ? tickWords(at, step(Number(plot.scales.x.min), Number(plot.scales.x.max)), drawn.current.clock) : at.map(() => "")),
                },
                {
                    stroke: () => token("--faint"),
                    grid: { stroke: () => token("--rule"), width: 1 },
                    ticks: { show: false },
                    font,
                    size: LEFT,
                    gap: 6,
                    space: 28,
                    incrs: pane.name === "percent" ? [1, 2, 5, 10, 20] : [0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50],
                    splits: contact ? () => [0, 1] : undefined,
                    values: (_, at) => at.map((v) => (contact ? (v ? "yes" : "no") : tidy(v))),
                },
            ],
            series: [{}, ...lines],
            bands,
            hooks: {
                drawClear: [(plot) => drawGround(plot, pane, drawn.current)],
                draw: [(plot) => drawMarks(plot, pane, unit, drawn.current)],
                setSelect: [(plot) => selected(plot, acts)],
                setCursor: [
                    (plot) => {
                        const { left } = plot.cursor;
                        acts.current.onCursor(left === undefined || left === null || left < 0 ? null : plot.posToVal(left, "x"));
                    },
                ],
            },
        },
        [[]],
        host,
    );
}

/** A reading alone between holes would make no line. @param {uPlot} plot @param {number} index @param {number} from @param {number} to */
function lonely(plot, index, from, to) {
    return to - from < 60 && plot.data[index].slice(from, to + 1).filter((v) => v !== null && v !== undefined).length < 3;
}

/** @param {number} v */
const tidy = (v) => String(Math.round(v * 1000) / 1000).replace("-", "\u2212");

/** @param {{name: string, names: string[]}} pane @param {Limit[]} limits @param {number | null} low @param {number | null} high @returns {[number, number]} */
function extent(pane, limits, low, high) {
    if (pane.name.startsWith("contact")) return [-0.15, 1.25];
    if (low === null || high === null || !Number.isFinite(low) || !Number.isFinite(high)) return pane.name === "percent" ? [30, 70] : [0, 30];
    const near = pane.name === "percent" ? 10 : 4;
    let [least, most] = [low, high];
    for (const name of pane.names) {
        const { above, below } = band(limits, name);
        for (const v of [above, below]) {
            if (v === null || v < low - near || v > high + near) continue;
            least = Math.min(least, v);
            most = Math.max(most, v);
        }
    }
    if (pane.name === "mould") return [0, Math.max(1, most * 1.1)];
    // Air that hardly moves must not look as if it swung: a pane shows so much at least.
    const room = pane.name === "percent" ? 10 : 4;
    const slack = Math.max((most - least) * 0.12, (room - (most - least)) / 2);
    return [pane.name === "vapour" ? Math.max(0, least - slack) : least - slack, most + slack];
}

/** Limits as a band, gaps as what they are. @param {uPlot} plot @param {{name: string, names: string[]}} pane @param {Drawn} drawn */
function drawGround(plot, pane, drawn) {
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio || 1;
    ctx.save();
    ctx.beginPath();
    ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
    ctx.clip();
    const y = (/** @type {number} */ v) => plot.valToPos(v, "y", true);
    const { above, below } = band(drawn.limits, pane.names[0]);
    if (above !== null || below !== null) {
        const top = above === null ? bbox.top : y(above);
        const foot = below === null ? bbox.top + bbox.height : y(below);
        ctx.fillStyle = token("--band");
        ctx.fillRect(bbox.left, top, bbox.width, foot - top);
        ctx.fillStyle = token("--faint");
        for (const v of [above, below]) if (v !== null) ctx.fillRect(bbox.left, Math.round(y(v)), bbox.width, ratio);
    }
    drawGaps(plot, pane, drawn);
    ctx.restore();
    for (const name of pane.names) drawBeyond(plot, name, drawn);
}

/** @typedef {{e: import("./sentence.js").Excursion, inside: number[]}} Beyond */
/** @type {WeakMap<Series, {limits: Limit[], found: Beyond[]}>} a series does not change; each frame asks */
const known = new WeakMap();

/** Excursions with the indices of their points. @param {Series} series @param {Limit[]} limits @returns {Beyond[]} */
function beyond(series, limits) {
    const before = known.get(series);
    if (before?.limits === limits) return before.found;
    const found = excursions(series, limits).map((e) => ({
        e,
        inside: series.t.map((_, i) => i).filter((i) => series.t[i] >= e.from && series.t[i] <= e.to),
    }));
    known.set(series, { limits, found });
    return found;
}

/** Hatching between a limit and what went beyond it. @param {uPlot} plot @param {string} name @param {Drawn} drawn */
function drawBeyond(plot, name, drawn) {
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio || 1;
    const series = drawn.series[name];
    if (!series) return;
    for (const { e, inside } of beyond(series, drawn.limits)) {
        const edge = plot.valToPos(e.limit, "y", true);
        const x = (/** @type {number} */ i) => plot.valToPos(series.t[i] + series.step / 2, "x", true);
        const left = Math.max(bbox.left, x(inside[0]));
        const right = Math.min(bbox.left + bbox.width, x(inside[inside.length - 1]));
        if (right <= left) continue;
        ctx.save();
        ctx.beginPath();
        ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
        ctx.clip();
        ctx.beginPath();
        ctx.moveTo(x(inside[0]), edge);
        for (const i of inside) ctx.lineTo(x(i), plot.valToPos(e.side === "above" ? Math.max(series.mean[i], e.limit) : Math.min(series.mean[i], e.limit), "y", true));
        ctx.lineTo(x(inside[inside.length - 1]), edge);
        ctx.clip();
        ctx.beginPath();
        for (let at = left - bbox.height; at < right; at += 5 * ratio) {
            ctx.moveTo(at, bbox.top + bbox.height);
            ctx.lineTo(at + bbox.height, bbox.top);
        }
        ctx.strokeStyle = token(INK[quantity(name).ink]);
        ctx.lineWidth = ratio;
        ctx.stroke();
        ctx.restore();
    }
}

/** @param {uPlot} plot @param {{name: string, names: string[]}} pane @param {Drawn} drawn */
function drawGaps(plot, pane, drawn) {
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio || 1;
    const series = drawn.series[pane.names[0]];
    ctx.fillStyle = token("--gap");
    ctx.strokeStyle = token("--faint");
    ctx.lineWidth = ratio;
    for (const gap of series?.gaps ?? []) {
        const left = Math.max(bbox.left, plot.valToPos(gap.from, "x", true));
        const right = Math.min(bbox.left + bbox.width, plot.valToPos(gap.to ?? drawn.now, "x", true));
        if (right <= left) continue;
        ctx.fillRect(left, bbox.top, Math.max(right - left, ratio), bbox.height);
        ctx.setLineDash([ratio, 4 * ratio]);
        ctx.beginPath();
        ctx.moveTo(left, bbox.top + bbox.height - 8 * ratio);
        ctx.lineTo(right, bbox.top + bbox.height - 8 * ratio);
        ctx.stroke();
        ctx.setLineDash([]);
        ctx.font = `${12 * ratio}px ${token("--sans")}`;
        if (ctx.measureText(gap.text).width < right - left - 8 * ratio) {
            ctx.fillStyle = token("--faint");
            ctx.textAlign = "center";
            ctx.textBaseline = "alphabetic";
            ctx.fillText(gap.text, (left + right) / 2, bbox.top + bbox.height - 14 * ratio);
            ctx.fillStyle = token("--gap");
        }
    }
}

/** Alarms along the top, the unit in the corner. @param {uPlot} plot @param {{name: string, names: string[]}} pane @param {string} unit @param {Drawn} drawn */
function drawMarks(plot, pane, unit, drawn) {
    const { ctx, bbox } = plot;
    const ratio = devicePixelRatio || 1;
    ctx.save();
    ctx.font = `${12 * ratio}px ${token("--sans")}`;
    ctx.fillStyle = token("--faint");
    ctx.textAlign = "left";
    ctx.textBaseline = "top";
    ctx.fillText(unit, bbox.left + 5 * ratio, bbox.top + 3 * ratio);
    ctx.beginPath();
    ctx.rect(bbox.left, 0, bbox.width, bbox.top + bbox.height);
    ctx.clip();
    ctx.fillStyle = token("--ink");
    ctx.strokeStyle = token("--ink");
    ctx.lineWidth = ratio;
    for (const alarm of drawn.alarms) {
        if (!alarm.quantity || !pane.names.includes(alarm.quantity)) continue;
        const left = plot.valToPos(alarm.since, "x", true);
        const right = plot.valToPos(alarm.until ?? drawn.now, "x", true);
        ctx.fillRect(left, bbox.top - 3 * ratio, Math.max(right - left, 2 * ratio), 3 * ratio);
        if (drawn.span.to - drawn.span.from > FENCE_S) continue;
        ctx.setLineDash([2 * ratio, 3 * ratio]);
        ctx.beginPath();
        ctx.moveTo(left, bbox.top);
        ctx.lineTo(left, bbox.top + bbox.height);
        ctx.stroke();
    }
    ctx.restore();
}

/** @param {uPlot} plot @param {{current: {onSpan: (s: Span) => void}}} acts */
function selected(plot, acts) {
    const { left, width } = plot.select;
    if (width < 8) return;
    const span = { from: plot.posToVal(left, "x"), to: plot.posToVal(left + width, "x") };
    plot.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    acts.current.onSpan(span);
}

/**
 * Wheel and fingers. A plain wheel scrolls the page as everywhere, unless the chart was chosen
 * (by key or click); with Ctrl, which is also what a pinch on a touch pad sends, it zooms.
 * @param {uPlot} plot @param {{current: Drawn}} drawn @param {{current: {onSpan: (s: Span) => void}}} acts
 */
function gestures(plot, drawn, acts) {
    const over = plot.over;
    const width = () => over.clientWidth || 1;
    const timeAt = (/** @type {number} */ x) => {
        const { from, to } = drawn.current.span;
        return from + ((x - over.getBoundingClientRect().left) / width()) * (to - from);
    };

    const onWheel = (/** @type {WheelEvent} */ event) => {
        const chosen = over.closest(".chart")?.contains(document.activeElement) ?? false;
        if (Math.abs(event.deltaX) > Math.abs(event.deltaY)) {
            event.preventDefault();
            acts.current.onSpan(move(drawn.current.span, event.deltaX / width()));
        } else if (event.ctrlKey || chosen) {
            event.preventDefault();
            acts.current.onSpan(zoom(drawn.current.span, Math.exp(Math.max(-1, Math.min(1, event.deltaY / 300))), timeAt(event.clientX)));
        }
    };

    /** @type {Map<number, number>} */
    const fingers = new Map();
    const spread = () => {
        const [a, b] = [...fingers.values()];
        return { middle: (a + b) / 2, apart: Math.max(20, Math.abs(a - b)) };
    };
    const onDown = (/** @type {PointerEvent} */ event) => {
        if (event.pointerType === "touch") fingers.set(event.pointerId, event.clientX);
    };
    const onMove = (/** @type {PointerEvent} */ event) => {
        const before = fingers.get(event.pointerId);
        if (before === undefined) return;
        if (fingers.size === 1) {
            fingers.set(event.pointerId, event.clientX);
            acts.current.onSpan(move(drawn.current.span, (before - event.clientX) / width()));
        } else if (fingers.size === 2) {
            const old = spread();
            fingers.set(event.pointerId, event.clientX);
            const fresh = spread();
            const turned = move(drawn.current.span, (old.middle - fresh.middle) / width());
            acts.current.onSpan(zoom(turned, old.apart / fresh.apart, timeAt(fresh.middle)));
        }
    };
    const onUp = (/** @type {PointerEvent} */ event) => fingers.delete(event.pointerId);

    over.addEventListener("wheel", onWheel, { passive: false });
    over.addEventListener("pointerdown", onDown);
    over.addEventListener("pointermove", onMove);
    over.addEventListener("pointerup", onUp);
    over.addEventListener("pointercancel", onUp);
    return () => over.removeEventListener("wheel", onWheel);
}
