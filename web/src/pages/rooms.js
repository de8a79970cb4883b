// rooms.js - every room on one page: the sentence first, then its week.
import { html } from "htm/preact";
import { useEffect, useRef, useState } from "preact/hooks";
import { figure, quantity } from "../quantity.js";
import { Link, zonePath } from "../route.js";
import {
    alarmState,
    excursions,
    excursionSentence,
    fitnessSummary,
    gapSentence,
    placeLine,
    spanSentence,
    standing,
    studioSentence,
    valueNow,
    zoneSentence,
} from "../sentence.js";
import { WeekChart } from "../week.js";
import { lastKnown, useWeek } from "../weekdata.js";
import { FirstSteps } from "./first.js";

/** @typedef {import("../store.js").State} State
 *  @typedef {import("../api.js").Zone} Zone
 *  @typedef {import("../weekdata.js").Week} Week
 *  @typedef {import("../sentence.js").At} At */

const LEAST_GAP_S = 900;

/** @param {{state: State}} props */
export function Rooms({ state }) {
    const zones = state.zones ?? [];
    const studio = /** @type {import("../api.js").Studio} */ (state.studio);
    const blank = zones.every((zone) => zone.first === null && zone.now === null);
    if (blank) return html`<${FirstSteps} state=${state} />`;
    const { text, rooms } = studioSentence(zones);
    return html`
        <div class="opening">
            <h1>Rooms</h1>
            <p class="date">${state.clock.longDate(state.now)}, ${state.clock.time(state.now)}</p>
            <p class="lede">${text}${rooms.map(({ zone, why }, i) => html`${i ? "," : ""} <${Link} href=${zonePath(zone.id)}><bdi>${zone.title}</bdi><//> (${why})`)}${rooms.length > 0 && "."}</p>
        </div>
        ${zones.map((zone) => html`<${Strip} key=${zone.id} zone=${zone} state=${state} />`)}
        <p class="small">Each chart shows seven days, temperature (dashed) above humidity (full line); vertical lines are midnights,
        the tinted band lies between the nearest limits, hatching marks what went beyond them. Altitude ${studio.altitude_m}\u00a0m.</p>
    `;
}

/** True once the element has come near the window, and from then on. @returns {[any, boolean]} */
function useSeen() {
    const ref = useRef(/** @type {HTMLElement | null} */ (null));
    const [seen, setSeen] = useState(false);
    useEffect(() => {
        if (!ref.current) return;
        const observer = new IntersectionObserver(
            (entries) => {
                if (!entries.some((entry) => entry.isIntersecting)) return;
                setSeen(true);
                observer.disconnect();
            },
            { rootMargin: "600px" },
        );
        observer.observe(ref.current);
        return () => observer.disconnect();
    }, []);
    return [ref, seen];
}

/** @param {{zone: Zone, state: State}} props */
function Strip({ zone, state }) {
    const [ref, seen] = useSeen();
    const week = useWeek(zone, state.now, state.beat, seen);
    const at = { clock: state.clock, now: state.now };
    const known = lastKnown(zone, week);
    const charted = zone.quantities.includes("humidity") || zone.quantities.includes("temperature");
    const last = { temperature: valueNow(zone, "temperature"), humidity: valueNow(zone, "humidity") };
    const label = week
        ? `The last seven days. ${spanSentence(Object.values(week.series), week.from, week.to, at, zone.first)}`
        : "The last seven days.";
    const id = `room-${zone.id}`;
    return html`<section class="strip" aria-labelledby=${id} ref=${ref}>
        <div class="strip-head">
            <h2 id=${id}><${Link} href=${zonePath(zone.id)}><bdi>${zone.title}</bdi><//></h2>
            <p class="place">${placeLine(zone)}</p>
        </div>
        <p class="say">${zoneSentence(zone, at, known)}</p>
        ${charted && zone.first !== null && html`
            <div class="numbers">
                <${Reading} name="temperature" value=${last.temperature} />
                <${Reading} name="humidity" value=${last.humidity} />
            </div>
            <${WeekChart} week=${week} limits=${zone.limits} clock=${state.clock} now=${state.now} last=${last} label=${label} height=${172} />
            ${week?.error && html`<p class="small">The week could not be shown: ${week.error}. It is asked for again in half a minute.</p>`}
        `}
        <${Words} zone=${zone} week=${week} at=${at} />
    </section>`;
}

/** @param {{name: string, value: number | null}} props */
function Reading({ name, value }) {
    const q = quantity(name);
    return html`<p class=${`number ${q.ink}`}>
        <span class="hidden">${q.title} </span>
        ${value === null ? html`<span aria-hidden="true">\u2013</span><span class="hidden">not read just now</span>` : html`${figure(name, value)}<small>${q.unit === "%" ? "\u00a0%" : "\u00a0°C"}</small>`}
    </p>`;
}

/** What the chart shows, in words. @param {{zone: Zone, week: Week | null, at: At}} props */
function Words({ zone, week, at }) {
    const alarms = standing(zone);
    const others = zone.alarms.filter((alarm) => !alarms.includes(alarm));
    /** @type {string[]} */
    const beyond = [];
    /** @type {string[]} */
    const missing = [];
    if (week) {
        for (const series of Object.values(week.series)) {
            // What an alarm says already is not said twice.
            const told = alarms.some((alarm) => alarm.quantity === series.quantity);
            for (const e of excursions(series, zone.limits))
                if (!(e.open && told)) beyond.push(`${quantity(series.quantity).title}: ${lower(excursionSentence(series.quantity, e, at))}`);
        }
        const series = week.series.humidity ?? week.series.temperature;
        for (const gap of series?.gaps ?? []) {
            // What is too short to be seen in a week is said on the room's own page.
            const brief = (gap.to ?? at.now) - gap.from < LEAST_GAP_S;
            if (!brief && (gap.to !== null || !zone.quiet)) missing.push(gapSentence(gap, at));
        }
    }
    const fitness = zone.fitness ?? [];
    if (alarms.length + others.length + beyond.length + missing.length + fitness.length === 0) return null;
    return html`<ul class="words">
        ${alarms.map((alarm) => html`<li key=${alarm.id}><strong>${alarm.text}</strong> (${alarmState(alarm.state)}).</li>`)}
        ${others.map((alarm) => html`<li key=${alarm.id}>${alarm.text} (${alarmState(alarm.state)}).</li>`)}
        ${lastFew(beyond).map((text) => html`<li>${text}</li>`)}
        ${lastFew(missing).map((text) => html`<li>${text}</li>`)}
        ${fitnessSummary(fitness).map((text) => html`<li>${text}</li>`)}
    </ul>`;
}

/** @param {string} text */
const lower = (text) => text.charAt(0).toLowerCase() + text.slice(1);

/** The latest two, and how many more. @param {string[]} texts */
function lastFew(texts) {
    if (texts.length <= 2) return texts.reverse();
    const more = texts.length - 2;
    const few = texts.slice(-2).reverse();
    few[1] += ` And ${more} more in these seven days.`;
    return few;
}
