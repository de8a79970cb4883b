// alarms.js - what was warned of: what stands first, then what is over.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { get, isAbort } from "../api.js";
import { quantity, withUnit } from "../quantity.js";
import { Link, zonePath } from "../route.js";
import { alarmLength, alarmState, capital, count } from "../sentence.js";

/** @typedef {import("../store.js").State} State
 *  @typedef {import("../api.js").Alarm} Alarm
 *  @typedef {import("../api.js").AlarmEvent} AlarmEvent */

/* How many that are over are shown before more are asked for. */
const FIRST = 20;

/** @param {{state: State}} props */
export function Alarms({ state }) {
    const [alarms, setAlarms] = useState(/** @type {Alarm[] | null} */ (null));
    const [error, setError] = useState("");
    const [whole, setWhole] = useState(false);
    // The zones are loaded anew after each alarm event; that is the time to ask here too.
    useEffect(() => {
        const stop = new AbortController();
        get("alarms?state=all", stop.signal).then(
            (answer) => {
                setAlarms(answer.alarms);
                setError("");
            },
            (problem) => !isAbort(problem) && !stop.signal.aborted && setError(problem.message),
        );
        return () => stop.abort();
    }, [state.studio, state.beat]);

    const standing = alarms?.filter((alarm) => alarm.state !== "normal") ?? [];
    const over = alarms?.filter((alarm) => alarm.state === "normal") ?? [];
    return html`
        <div class="opening">
            <h1>Alarms</h1>
            <p class="lede">${alarms === null ? (error ? "The alarms could not be read." : "Reading the alarms.") : summary(standing, over)}</p>
            ${error && html`<p>${error}. It is tried again every minute.</p>`}
        </div>
        ${standing.length > 0 && html`<h2>Standing</h2><${List} alarms=${standing} state=${state} />`}
        ${over.length > 0 && html`<h2>Over</h2><${List} alarms=${whole ? over : over.slice(0, FIRST)} state=${state} />`}
        ${!whole && over.length > FIRST && html`<p><button type="button" onClick=${() => setWhole(true)}>Show ${over.length - FIRST} earlier</button></p>`}
        ${alarms !== null && html`<p class="small">An alarm is a reason to look, not a judgement of damage; the conservator decides. At most the last 500 are shown.</p>`}
    `;
}

/** @param {Alarm[]} standing @param {Alarm[]} over */
function summary(standing, over) {
    const asked = standing.filter((alarm) => alarm.state === "unacknowledged").length;
    if (standing.length === 0) return over.length ? "No alarm stands." : "No alarm stands, and none was ever raised.";
    const all = capital(count(standing.length, "alarm stands", "alarms stand"));
    if (asked === 0) return `${all}.`;
    if (asked === standing.length) return `${all}, ${asked === 1 ? "not yet" : "none of them"} acknowledged.`;
    return `${all}, ${count(asked, "of them", "of them")} not yet acknowledged.`;
}

/** @param {{alarms: Alarm[], state: State}} props */
function List({ alarms, state }) {
    const at = { clock: state.clock, now: state.now };
    return html`<ol class="ledger">
        ${alarms.map((alarm) => html`<li key=${alarm.id} class=${alarm.state === "normal" ? "" : "stands"}>
            <p class="ledger-when"><time datetime=${state.clock.iso(alarm.since)}>${capital(at.clock.when(alarm.since, at.now))}</time><br /><span class="small">${alarmLength(alarm, at)}</span></p>
            <div class="ledger-what">
                <p>${alarm.text}</p>
                <p class="small">${capital(alarmState(alarm.state))} · priority ${alarm.priority}${worst(alarm)}${alarm.zone && html` · <${Link} href=${zonePath(alarm.zone)}><bdi>${alarm.zone_title ?? alarm.zone}</bdi><//>`}${alarm.instrument && html` · sensor <bdi>${alarm.instrument}</bdi>`}</p>
                <${History} alarm=${alarm} state=${state} />
            </div>
        </li>`)}
    </ol>`;
}

/** @param {Alarm} alarm */
function worst(alarm) {
    if (alarm.value === null || !alarm.quantity || quantity(alarm.quantity).kind === "contact") return "";
    const limit = alarm.threshold === null ? "" : `, limit ${withUnit(alarm.quantity, alarm.threshold)}`;
    return ` · furthest ${withUnit(alarm.quantity, alarm.value)}${limit}`;
}

/** @param {{alarm: Alarm, state: State}} props */
function History({ alarm, state }) {
    const [open, setOpen] = useState(false);
    const [events, setEvents] = useState(/** @type {AlarmEvent[] | null} */ (null));
    const [error, setError] = useState("");
    useEffect(() => {
        if (!open) return;
        const stop = new AbortController();
        get(`alarms/${encodeURIComponent(alarm.id)}/history`, stop.signal).then(
            (answer) => setEvents(answer.events),
            (problem) => !stop.signal.aborted && setError(problem.message),
        );
        return () => stop.abort();
    }, [open, alarm.id, alarm.state]);
    return html`<details onToggle=${(/** @type {any} */ e) => setOpen(e.currentTarget.open)}>
        <summary>What happened<span class="hidden"> to: ${alarm.text}</span></summary>
        ${error && html`<p>${capital(error)}.</p>`}
        ${events?.length === 0 && html`<p>Nothing is noted.</p>`}
        <ol class="events">${events?.map((e) => html`<li>
            <time datetime=${state.clock.iso(e.t)}>${state.clock.stamp(e.t)}</time>: ${alarmState(e.from)} to ${alarmState(e.to)}${e.value !== null && alarm.quantity ? `, at ${withUnit(alarm.quantity, e.value)}` : ""}${e.person ? html`, by <bdi>${e.person}</bdi>` : ""}${e.reason ? html`: <bdi>${e.reason}</bdi>` : ""}
        </li>`)}</ol>
    </details>`;
}
