// app.js - what stands around every page: name, ways to the pages, state in words.
import { html } from "htm/preact";
import { useEffect, useRef } from "preact/hooks";
import { Alarms } from "./pages/alarms.js";
import { Instruments } from "./pages/instruments.js";
import { Rooms } from "./pages/rooms.js";
import { Zone } from "./pages/zone.js";
import { Link, useRoute } from "./route.js";
import { clockSentence, keptSentence, linkSentence, postSentence, recordingSentence, standing } from "./sentence.js";
import { load, useStudio } from "./store.js";
import { Hatchings } from "./week.js";

/** @typedef {import("./route.js").Route} Route
 *  @typedef {import("./store.js").State} State */

export function App() {
    const state = useStudio();
    const route = useRoute();
    const main = useRef(/** @type {HTMLElement | null} */ (null));
    const key = route.page === "zone" ? `zone ${route.id}` : route.page;
    const first = useRef(key);

    // After a move the reader of a screen reader begins at the new page, not in the old menu.
    useEffect(() => {
        if (first.current === key) return;
        first.current = key;
        main.current?.focus({ preventScroll: true });
    }, [key]);

    useEffect(() => {
        document.title = [title(route, state), state.studio?.name ?? "Stillroom", state.studio?.demo ? "DEMO" : ""].filter(Boolean).join(" · ");
    });

    return html`
        <a class="skip" href="#main" onClick=${(/** @type {Event} */ e) => {
            e.preventDefault();
            main.current?.focus();
        }}>Skip to the page</a>
        <${Hatchings} />
        <${Head} state=${state} route=${route} />
        <${Notices} state=${state} />
        <main id="main" tabindex="-1" ref=${main}>
            <${Page} route=${route} state=${state} key=${key} />
        </main>
        <${Foot} state=${state} />
    `;
}

/** @param {Route} route @param {State} state */
function title(route, state) {
    if (route.page === "zone") return state.zones?.find((zone) => zone.id === route.id)?.title ?? route.id;
    return { rooms: "Rooms", alarms: "Alarms", instruments: "Instruments", unknown: "Not found" }[route.page];
}

/** @param {{state: State, route: Route}} props */
function Head({ state, route }) {
    const alarms = state.zones?.reduce((n, zone) => n + standing(zone).length, 0) ?? 0;
    return html`<header class="head">
        <p class="studio"><bdi>${state.studio?.name ?? "Stillroom"}</bdi></p>
        <nav aria-label="Pages">
            <${Link} href="/" current=${route.page === "rooms"}>Rooms<//>
            <${Link} href="/alarms" current=${route.page === "alarms"}>Alarms${alarms > 0 && html` <span class="tally">${alarms}<span class="hidden"> standing</span></span>`}<//>
            <${Link} href="/instruments" current=${route.page === "instruments"}>Instruments<//>
        </nav>
        ${state.studio?.demo && html`<p class="demo"><strong>DEMO</strong> <span>invented data</span></p>`}
    </header>`;
}

/** What the reader must know before any figure. @param {{state: State}} props */
function Notices({ state }) {
    const { studio, link, newer, error } = state;
    const at = { clock: state.clock, now: state.now };
    const lost = link.state === "lost" && studio !== null;
    return html`<div class="notices" role="status" aria-live="polite">
        ${lost && html`<p class="notice">${linkSentence(link, at)} The page comes back by itself.</p>`}
        ${studio && recordingSentence(studio, at) && html`<p class="notice grave">${recordingSentence(studio, at)}</p>`}
        ${studio && clockSentence(studio) && html`<p class="notice">${clockSentence(studio)}</p>`}
        ${studio && postSentence(studio) && html`<p class="notice grave">${postSentence(studio)}</p>`}
        ${newer && html`<p class="notice">Stillroom was updated to ${newer}. <button type="button" class="plain" onClick=${() => location.reload()}>Load the new pages</button></p>`}
        ${error && studio && !lost && html`<p class="notice">Not all could be brought up to date: ${error}. It is tried again every minute.</p>`}
    </div>`;
}

/** @param {{route: Route, state: State}} props */
function Page({ route, state }) {
    if (!state.studio || !state.zones) return html`<${Before} state=${state} />`;
    if (route.page === "rooms") return html`<${Rooms} state=${state} />`;
    if (route.page === "zone") {
        const zone = state.zones.find((z) => z.id === route.id);
        return zone ? html`<${Zone} zone=${zone} state=${state} key=${zone.id} />` : html`<${Missing} what=${`a room named ${route.id}`} />`;
    }
    if (route.page === "alarms") return html`<${Alarms} state=${state} />`;
    if (route.page === "instruments") return html`<${Instruments} state=${state} />`;
    return html`<${Missing} what=${`a page at ${route.path}`} />`;
}

/** Before the first answer. @param {{state: State}} props */
function Before({ state }) {
    if (!state.error) return html`<div class="opening"><p class="lede">Asking Stillroom.</p></div>`;
    return html`<div class="opening">
        <h1>Stillroom cannot answer</h1>
        <p class="lede">${state.error}.</p>
        <p>On the machine that it runs on, <code>systemctl status stillroomd</code> says how it is, and <code>journalctl -u stillroomd</code> why.
        This page asks again every minute.</p>
        <p><button type="button" onClick=${() => load()}>Try again</button></p>
    </div>`;
}

/** @param {{what: string}} props */
function Missing({ what }) {
    return html`<div class="opening">
        <h1>Not found</h1>
        <p class="lede">Stillroom does not know <bdi>${what}</bdi>. It may have another name in the site file now.</p>
        <p><${Link} href="/">All rooms<//></p>
    </div>`;
}

/** @param {{state: State}} props */
function Foot({ state }) {
    const { studio, link } = state;
    const at = { clock: state.clock, now: state.now };
    return html`<footer class="foot">
        ${studio && html`<p>${link.state === "lost" ? "" : `${linkSentence(link, at)} `}${keptSentence(studio, at)}</p>
            <p>Times are those of ${studio.timezone} (${state.clock.zone(state.now)}). Signing key <code>${studio.key}</code>.</p>`}
        <p>Stillroom${studio ? ` ${studio.version}` : ""} reports and warns; it switches nothing on or off, and the conservator decides. ${" "}
        <a href="/licences.txt">Licences</a></p>
        ${studio?.demo && html`<p class="demo-foot">DEMO: all rooms, readings and works shown here are invented.</p>`}
    </footer>`;
}
