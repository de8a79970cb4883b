// zone.js - one room: its chart from ten years to an hour, and all that is known of it.
import { html } from "htm/preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { Chart, chartHeight } from "../chart.js";
import { figure, inOrder, quantity, withUnit } from "../quantity.js";
import { Link } from "../route.js";
import {
    ago,
    alarmState,
    capital,
    caveat,
    dampSentence,
    duration,
    fitnessSentence,
    fitnessSummary,
    cautions,
    gapSentence,
    list,
    placeLine,
    spanSentence,
    spanWords,
    standing,
    valueNow,
    zoneSentence,
} from "../sentence.js";
import { move, preset, PRESETS, within, zoom } from "../span.js";
import { useSettled, useSpanAlarms, useSpanData } from "../spandata.js";
import { nearest, periods, rows } from "../twin.js";
import { useWidth } from "../week.js";
import { lastKnown, useWeek } from "../weekdata.js";

/** @typedef {import("../store.js").State} State
 *  @typedef {import("../api.js").Zone} ZoneData
 *  @typedef {import("../api.js").Series} Series
 *  @typedef {import("../span.js").Span} Span
 *  @typedef {import("../sentence.js").At} At */

/** @param {{zone: ZoneData, state: State}} props */
export function Zone({ zone, state }) {
    const at = { clock: state.clock, now: state.now };
    const alarms = standing(zone);
    const week = useWeek(zone, state.now, state.beat, zone.quiet !== null);
    return html`
        <div class="opening">
            <p class="up"><${Link} href="/">All rooms<//></p>
            <h1><bdi>${zone.title}</bdi></h1>
            <p class="place">${placeLine(zone)}</p>
            <p class="lede">${zoneSentence(zone, at, lastKnown(zone, week))}</p>
            ${alarms.length > 0 && html`<ul class="words">${alarms.map((alarm) => html`<li key=${alarm.id}><strong>${alarm.text}</strong> (${alarmState(alarm.state)}).</li>`)}</ul>`}
            ${zone.fitness && zone.fitness.length > 0 && html`<ul class="words">${fitnessSummary(zone.fitness).map((text) => html`<li>${text}</li>`)}</ul>`}
        </div>
        ${zone.first === null || zone.quantities.length === 0 ? html`<${Empty} zone=${zone} />` : html`<${History} zone=${zone} state=${state} />`}
        ${zone.quantities.length > 0 && html`<${Figures} zone=${zone} />`}
        ${zone.fitness && zone.fitness.length > 0 && html`<${Fitness} fitness=${zone.fitness} />`}
        <div class="pair">
            <${Limits} zone=${zone} />
            <${Sensors} zone=${zone} at=${at} />
        </div>
    `;
}

/** @param {{zone: ZoneData}} props */
function Empty({ zone }) {
    return html`<p>The chart begins with the first reading, which appears here by itself.
        ${zone.instruments.length > 0
            ? html` Why the sensor does not answer, if it does not, is said under <${Link} href="/instruments">Instruments<//>.`
            : html` Give this room a sensor by the line <code>zone = ${zone.id}</code> in its section of the site file.`}</p>`;
}

/** The span in the address, so that what is seen can be sent as a link. @param {ZoneData} zone @param {number} now */
function spanOfAddress(zone, now) {
    const query = new URLSearchParams(location.search);
    const from = Number(query.get("from"));
    const to = Number(query.get("to"));
    if (from > 0 && to > from) return { name: "", span: within({ from, to }, zone.first, now) };
    const name = PRESETS.find((p) => p.name === query.get("show"))?.name ?? "week";
    return { name, span: preset(name, zone.first, now) };
}

/**
 * The span shown, with the way back. A named span ends now and goes on with the clock.
 * @param {ZoneData} zone @param {number} now
 */
function useSpan(zone, now) {
    const [shown, setShown] = useState(() => spanOfAddress(zone, now));
    const past = useRef(/** @type {{shown: {name: string, span: Span}, at: number}[]} */ ([]));
    const minute = Math.floor(now / 30) * 30;
    const span = shown.name ? preset(shown.name, zone.first, minute) : shown.span;

    /** @param {{name: string, span: Span}} next */
    function show(next) {
        if (next.span.from === span.from && next.span.to === span.to) return;
        // One turn of a wheel is many small steps; the way back leads before the first of them.
        const last = past.current[past.current.length - 1];
        if (!last || Date.now() - last.at > 700) past.current.push({ shown: { name: shown.name, span }, at: Date.now() });
        else last.at = Date.now();
        past.current = past.current.slice(-50);
        setShown(next);
    }

    const key = shown.name || `${span.from} ${span.to}`;
    useEffect(() => {
        const timer = setTimeout(() => {
            const query = shown.name ? (shown.name === "week" ? "" : `?show=${shown.name}`) : `?from=${span.from}&to=${span.to}`;
            history.replaceState(null, "", location.pathname + query);
        }, 300);
        return () => clearTimeout(timer);
    }, [key]);

    return {
        span,
        name: shown.name,
        /** @param {Span} next */
        to: (next) => show({ name: "", span: within(next, zone.first, now) }),
        /** @param {string} name */
        preset: (name) => show({ name, span: preset(name, zone.first, minute) }),
        back: () => {
            const before = past.current.pop();
            if (before) setShown(before.shown);
            else show({ name: "all", span: preset("all", zone.first, minute) });
        },
    };
}

/** Readings that came since the page was opened, to be drawn at once. @param {ZoneData} zone */
function useTails(zone) {
    const [tails, setTails] = useState(/** @type {Record<string, {t: number, value: number}[]>} */ ({}));
    useEffect(() => {
        if (!zone.now) return;
        const { now } = zone;
        setTails((old) => {
            /** @type {typeof old} */
            const fresh = { ...old };
            for (const name of zone.quantities) {
                const value = now[name];
                const have = fresh[name] ?? [];
                if (value && value.t > (have[have.length - 1]?.t ?? 0)) fresh[name] = [...have, { t: value.t, value: value.value }].slice(-400);
            }
            return fresh;
        });
    }, [zone.now]);
    return tails;
}

/** @param {ZoneData} zone */
function firstChoice(zone) {
    const choice = ["temperature", "humidity"].filter((name) => zone.quantities.includes(name));
    return choice.length > 0 ? choice : zone.quantities.slice(0, 1);
}

/** @param {{zone: ZoneData, state: State}} props */
function History({ zone, state }) {
    const [chosen, setChosen] = useState(() => firstChoice(zone));
    const [cursor, setCursor] = useState(/** @type {number | null} */ (null));
    const [spoken, setSpoken] = useState("");
    const [ref, width] = useWidth();
    const range = useSpan(zone, state.now);
    const { span } = range;
    const { series, busy, error } = useSpanData(zone, chosen, span, width, Math.floor(state.now), state.beat);
    const settled = useSettled(span, 300, `${span.from} ${span.to}`);
    const alarms = useSpanAlarms(zone.id, settled, state.studio);
    const tails = useTails(zone);
    const at = { clock: state.clock, now: state.now };
    const narrow = width > 0 && width < 520;
    // Quantities keep the order of the zone, whatever the order of the ticks.
    const drawn = inOrder(zone.quantities).filter((name) => chosen.includes(name));

    // Words and rows wait until the span has come to rest; a frame of a drag has no time for them.
    const twin = useMemo(
        () => html`<${Twin} first=${zone.first} drawn=${drawn} series=${series} span=${settled} alarms=${alarms} at=${at} />`,
        [zone.first, drawn.join(), series, settled, alarms, at.clock, at.now],
    );

    /** @param {number} by share of the span */
    function moveCursor(by) {
        const t = Math.max(span.from, Math.min(span.to, (cursor ?? (span.from + span.to) / 2) + by * (span.to - span.from)));
        setCursor(t);
        setSpoken(cursorWords(zone, series, t, at));
    }
    const onKey = keys(range, moveCursor);

    return html`<section class="history" aria-label="Chart and figures over time">
        <${Spans} range=${range} at=${at} busy=${busy} />
        <div class="chart" ref=${ref} tabindex="0" role="group" aria-label=${`Chart of ${list(drawn.map((name) => quantity(name).short))}`} aria-describedby="chart-words chart-help"
            onKeyDown=${onKey} onDblClick=${() => range.back()}>
            <div class="panes-room" style=${{ minHeight: `${chartHeight(drawn, narrow)}px` }}>
                ${width > 0 && html`<${Chart} chosen=${drawn} tails=${tails} width=${width} span=${span} series=${series} limits=${zone.limits} alarms=${alarms}
                    clock=${state.clock} now=${state.now} cursor=${cursor} onSpan=${range.to} onCursor=${setCursor} />`}
            </div>
        </div>
        <p class="small chart-state">${error ? `Not all readings could be fetched: ${error}. It is tried again in half a minute.` : html`<span class="help" id="chart-help">Drag to look closer, double click to step back. When the chart is chosen: arrows move, + and \u2212 zoom, Shift with arrows reads values, Backspace steps back. On a touch screen move with one finger, zoom with two.</span>`}</p>
        <p class="hidden" role="status" aria-live="polite">${spoken}</p>
        <${Readings} zone=${zone} series=${series} cursor=${cursor} chosen=${chosen} setChosen=${setChosen} at=${at} />
        ${twin}
    </section>`;
}

/**
 * @param {ReturnType<typeof useSpan>} range @param {(by: number) => void} moveCursor
 * @returns {(event: KeyboardEvent) => void}
 */
function keys(range, moveCursor) {
    return (event) => {
        if (event.ctrlKey || event.metaKey || event.altKey) return;
        const sign = event.key === "ArrowLeft" ? -1 : 1;
        /** @type {Record<string, () => void>} */
        const acts = {
            ArrowLeft: () => (event.shiftKey ? moveCursor(0.02 * sign) : range.to(move(range.span, 0.15 * sign))),
            ArrowRight: () => (event.shiftKey ? moveCursor(0.02 * sign) : range.to(move(range.span, 0.15 * sign))),
            PageUp: () => range.to(move(range.span, -0.9)),
            PageDown: () => range.to(move(range.span, 0.9)),
            Home: () => range.to(move(range.span, -1e6)),
            End: () => range.to(move(range.span, 1e6)),
            "+": () => range.to(zoom(range.span, 0.6)),
            "=": () => range.to(zoom(range.span, 0.6)),
            "-": () => range.to(zoom(range.span, 1 / 0.6)),
            Backspace: () => range.back(),
        };
        for (const p of PRESETS) acts[p.key] = () => range.preset(p.name);
        const act = acts[event.key];
        if (!act) return;
        event.preventDefault();
        act();
    };
}

/** @param {{range: ReturnType<typeof useSpan>, at: At, busy: boolean}} props */
function Spans({ range, at, busy }) {
    return html`<p class="span-words">${spanWords(range.span.from, range.span.to, at)} <span class="small">${busy && "fetching readings"}</span></p>
    <div class="spans">
        <div class="row" role="group" aria-label="Span shown, up to now">
            ${PRESETS.map((p) => html`<button type="button" key=${p.name} aria-pressed=${range.name === p.name ? "true" : "false"} onClick=${() => range.preset(p.name)}>${p.title}</button>`)}
        </div>
        <div class="row" role="group" aria-label="Move and zoom">
            <button type="button" onClick=${() => range.to(move(range.span, -0.5))}>Earlier</button>
            <button type="button" onClick=${() => range.to(move(range.span, 0.5))}>Later</button>
            <button type="button" onClick=${() => range.to(zoom(range.span, 0.5))}>Closer</button>
            <button type="button" onClick=${() => range.to(zoom(range.span, 2))}>Wider</button>
        </div>
    </div>`;
}

/** @param {ZoneData} zone @param {string} name */
const everyOf = (zone, name) => zone.instruments.find((i) => i.quantities.includes(name))?.every_s ?? Math.max(60, ...zone.instruments.map((i) => i.every_s));

/** @param {ZoneData} zone @param {Record<string, Series>} series @param {number} t @param {At} at */
function cursorWords(zone, series, t, at) {
    const said = zone.quantities.map((name) => {
        const found = nearest(series[name], t, everyOf(zone, name));
        return found && `${quantity(name).short} ${withUnit(name, found.mean)}`;
    });
    return `${at.clock.stamp(t)}: ${said.filter(Boolean).join(", ") || "no reading"}`;
}

/**
 * All quantities at the cursor, or now; each can be put on the chart.
 * @param {{zone: ZoneData, series: Record<string, Series>, cursor: number | null, chosen: string[],
 *          setChosen: (names: string[]) => void, at: At}} props
 */
function Readings({ zone, series, cursor, chosen, setChosen, at }) {
    /** @param {string} name */
    const toggle = (name) => {
        const next = chosen.includes(name) ? chosen.filter((n) => n !== name) : [...chosen, name];
        if (next.length > 0) setChosen(next);
    };
    return html`<fieldset class="readings">
        <legend>${cursor === null ? "Now" : at.clock.stamp(cursor)}</legend>
        ${inOrder(zone.quantities).map((name) => {
            const q = quantity(name);
            const [value, spread] = reading(zone, series[name], name, cursor);
            return html`<label key=${name} class=${`reading ${q.ink}`}>
                <input type="checkbox" checked=${chosen.includes(name)} onChange=${() => toggle(name)} />
                <svg class="sample" width="26" height="8" aria-hidden="true"><line x1="0" x2="26" y1="4" y2="4" stroke-dasharray=${q.dash.join(" ") || undefined} /></svg>
                <span class="reading-name">${q.title}</span>
                <span class="reading-value">${value}</span>
                <span class="reading-spread">${spread}</span>
            </label>`;
        })}
    </fieldset>`;
}

/** @param {ZoneData} zone @param {Series | undefined} series @param {string} name @param {number | null} cursor */
function reading(zone, series, name, cursor) {
    if (cursor === null) {
        const value = valueNow(zone, name);
        return [value === null ? "\u2013" : withUnit(name, value), ""];
    }
    const found = nearest(series, cursor, everyOf(zone, name));
    if (!found) return ["\u2013", ""];
    const low = figure(name, found.min);
    const high = figure(name, found.max);
    if (quantity(name).kind === "contact") return [found.max >= 0.5 && found.min < 0.5 ? "at times" : withUnit(name, found.mean), ""];
    return [withUnit(name, found.mean), low === high ? "" : `${low} to ${high}`];
}

/**
 * The chart in words and rows.
 * @param {{first: number | null, drawn: string[], series: Record<string, Series>, span: Span,
 *          alarms: import("../api.js").Alarm[], at: At}} props
 */
function Twin({ first, drawn, series, span, alarms, at }) {
    const [open, setOpen] = useState(false);
    const shown = drawn.map((name) => series[name]).filter(Boolean);
    const gaps = (shown[0]?.gaps ?? []).filter((gap) => gap.from < span.to && (gap.to ?? Infinity) > span.from);
    return html`<div class="twin">
        <p id="chart-words">${spanSentence(shown, span.from, span.to, at, first)}</p>
        <details onToggle=${(/** @type {any} */ e) => setOpen(e.currentTarget.open)}>
            <summary>The chart as a table</summary>
            ${open && html`<${Table} drawn=${drawn} series=${series} span=${span} at=${at} />`}
        </details>
        <div class="pair"><div>
        <h2>Gaps in this span</h2>
        ${gaps.length === 0 ? html`<p>None.</p>` : html`<ul class="words">${gaps.slice(-12).reverse().map((gap) => html`<li key=${gap.from}>${gapSentence(gap, at)}</li>`)}</ul>`}
        ${gaps.length > 12 && html`<p class="small">And ${gaps.length - 12} earlier ones; look closer to see them.</p>`}
        </div><div>
        <h2>Alarms in this span</h2>
        ${alarms.length === 0 ? html`<p>None.</p>` : html`<ul class="words">${alarms.slice(0, 12).map((alarm) => html`<li key=${alarm.id}>${alarm.text} (${alarmState(alarm.state)}).</li>`)}</ul>`}
        ${alarms.length > 12 && html`<p class="small">And ${alarms.length - 12} more, under <${Link} href="/alarms">Alarms<//>.</p>`}
        </div></div>
    </div>`;
}

/** @param {{drawn: string[], series: Record<string, Series>, span: Span, at: At}} props */
function Table({ drawn, series, span, at }) {
    const spans = periods(span, at.clock);
    const cells = drawn.map((name) => ({ name, rows: series[name] ? rows(series[name], spans) : [] }));
    return html`<div class="scroll" tabindex="0" role="region" aria-label="The chart as a table">
        <table>
            <caption>Average, and in brackets least to most, of each period</caption>
            <thead><tr><th scope="col">Period</th>${drawn.map((name) => html`<th scope="col">${quantity(name).title}${quantity(name).unit && `, ${quantity(name).unit}`}</th>`)}</tr></thead>
            <tbody>${spans.map((period, i) => html`<tr>
                <th scope="row">${period.title}</th>
                ${cells.map(({ name, rows: found }) => html`<td>${found[i] ? `${figure(name, found[i].mean)} (${figure(name, found[i].least)} to ${figure(name, found[i].most)})` : "no readings"}</td>`)}
            </tr>`)}</tbody>
        </table>
    </div>`;
}

/** What the figures mean and what must be said with them. @param {{zone: ZoneData}} props */
function Figures({ zone }) {
    const names = zone.quantities.filter((name) => quantity(name).kind === "derived");
    if (names.length === 0) return null;
    return html`<section class="figures" aria-labelledby="figures">
        <h2 id="figures">What the air means</h2>
        <p>${dampSentence(zone.damp_hours)}</p>
        <dl>${names.map((name) => {
            const q = quantity(name);
            const value = valueNow(zone, name);
            const warning = caveat(name, zone);
            return html`<div key=${name}>
                <dt>${q.title} <span class="figure">${value === null ? "not known just now" : withUnit(name, value)}</span></dt>
                <dd>${q.meaning}${warning && html` <strong>${warning}</strong>`} <span class="small">${q.source ? `By ${q.source}.` : ""}</span></dd>
            </div>`;
        })}</dl>
        <p class="small">These are calculated from the sensor's readings and are no better than they are; the conservator decides.</p>
    </section>`;
}

/** @param {{fitness: import("../api.js").Fitness[]}} props */
function Fitness({ fitness }) {
    return html`<section class="fitness" aria-labelledby="fitness">
        <h2 id="fitness">Fit for work</h2>
        <ul class="words">${fitness.map((f) => html`<li key=${f.work}>${fitnessSentence(f)}</li>`)}</ul>
        <p class="small">Judged by common practice from the air now and from this room's last nights.</p>
        ${cautions(fitness).map((text) => html`<p class="caution" key=${text}>${text}</p>`)}
    </section>`;
}

/** @param {{zone: ZoneData}} props */
function Limits({ zone }) {
    return html`<section aria-labelledby="limits">
        <h2 id="limits">Limits</h2>
        ${zone.limits.length === 0
            ? html`<p>No limit is set for this room, so nothing here raises an alarm.</p>`
            : html`<ul class="words">${zone.limits.map((limit) => html`<li key=${limit.name}>${capital(limit.text)}; priority ${limit.priority}. <span class="small">${limit.source ? `Source: ${limit.source}.` : "Set in the site file."} <bdi>${limit.name}</bdi></span></li>`)}</ul>`}
    </section>`;
}

/** @param {{zone: ZoneData, at: At}} props */
function Sensors({ zone, at }) {
    return html`<section aria-labelledby="sensors">
        <h2 id="sensors">Instruments here</h2>
        ${zone.instruments.length === 0 && html`<p>None.</p>`}
        <ul class="words">${zone.instruments.map((i) => html`<li key=${i.name}>
            <bdi>${i.name}</bdi>${i.name === zone.lead && zone.instruments.length > 1 ? " (leads the calculated figures)" : ""}: ${i.quantities.map((name) => quantity(name).title.toLowerCase()).join(", ")}, every ${duration(i.every_s)};
            ${i.last === null ? " never read" : ` last read ${ago(i.last, at.now)}`}. <span class="small">Serial <bdi>${i.serial || "not noted"}</bdi>.</span>
        </li>`)}</ul>
    </section>`;
}
