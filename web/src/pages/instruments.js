// instruments.js - every sensor and whether it answers.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";
import { get } from "../api.js";
import { quantity } from "../quantity.js";
import { Link, zonePath } from "../route.js";
import { capital, count, duration, instrumentSentence, list, pollSentence } from "../sentence.js";

/** @typedef {import("../store.js").State} State
 *  @typedef {import("../api.js").Instrument} Instrument */

/** @param {{state: State}} props */
export function Instruments({ state }) {
    const [instruments, setInstruments] = useState(/** @type {Instrument[] | null} */ (null));
    const [error, setError] = useState("");
    const round = Math.floor(state.now / 15);
    useEffect(() => {
        const stop = new AbortController();
        get("instruments", stop.signal).then(
            (answer) => {
                setInstruments(answer.instruments);
                setError("");
            },
            (problem) => !stop.signal.aborted && setError(problem.message),
        );
        return () => stop.abort();
    }, [round, state.beat]);
    return html`
        <div class="opening">
            <h1>Instruments</h1>
            <p class="lede">${instruments === null ? (error ? "The instruments could not be read." : "Reading the instruments.") : summary(instruments)}</p>
            ${error && html`<p>${error}. It is tried again in a moment.</p>`}
        </div>
        <ul class="ledger">
            ${instruments?.map((i) => html`<${Entry} key=${i.name} instrument=${i} state=${state} />`)}
        </ul>`;
}

/** @param {Instrument[]} instruments */
function summary(instruments) {
    if (instruments.length === 0) return "No sensor is named in the site file yet; the page Rooms says how to begin.";
    const silent = instruments.filter((i) => i.state !== "reading");
    const all = capital(count(instruments.length, "sensor"));
    if (silent.length === 0) return `${all}, ${instruments.length === 1 ? "and it answers" : "and all of them answer"}.`;
    return `${all}; ${count(silent.length, "does not answer", "do not answer")}.`;
}

/** @param {{instrument: Instrument, state: State}} props */
function Entry({ instrument: i, state }) {
    const at = { clock: state.clock, now: state.now };
    const zone = state.zones?.find((z) => z.id === i.zone);
    return html`<li class=${i.state === "reading" ? "" : "stands"}>
        <h2 class="ledger-when"><bdi>${i.name}</bdi></h2>
        <div class="ledger-what">
            <p>${instrumentSentence(i, at)}</p>
            <p class="small">${zone ? html`<${Link} href=${zonePath(zone.id)}><bdi>${zone.title}</bdi><//>` : "in no room"}${i.placement && html`, <bdi>${i.placement}</bdi>`} · reads ${list(i.quantities.map((name) => quantity(name).title.toLowerCase()))}</p>
            <p class="small">Serial <bdi>${i.serial || "not noted"}</bdi> · bus <bdi>${i.bus}</bdi>, unit ${i.unit} · asked every ${duration(i.every_s)} · ${pollSentence(i.polls, i.failures)}</p>
        </div>
    </li>`;
}
