// first.js - before the first reading: what to do, instead of empty charts.
import { html } from "htm/preact";
import { Link } from "../route.js";

/** @param {{state: import("../store.js").State}} props */
export function FirstSteps({ state }) {
    const studio = /** @type {import("../api.js").Studio} */ (state.studio);
    if (studio.sensors > 0) return html`<${Waiting} state=${state} />`;
    return html`
        <div class="opening">
            <h1>Three steps to the first reading</h1>
            <p class="lede">Stillroom is running, but no sensor is named in its site file yet.</p>
        </div>
        <ol class="steps">
            <li>
                <h2>Wire the sensor</h2>
                <p>Join the Modbus sensor to this machine by a USB adapter for RS-485 (A to A, B to B, its own supply), or by the network.
                Hang it where the works are, not on an outside wall, nor beside a heater, vent, door or window, or in the sun.</p>
                <p class="caution">Work on the supply only while it is off; mains and damp rooms do not mix. Leave fixed wiring to an electrician.</p>
            </li>
            <li>
                <h2>Name it in the site file</h2>
                <p><code>stillroom probe BUS</code> shows which units answer on a bus and what their registers hold. The maker's
                sheet says which register is temperature and which humidity. Then write into <code>/etc/stillroom/site.ini</code>:</p>
                <pre tabindex="0" aria-label="Example for the site file">${EXAMPLE}</pre>
            </li>
            <li>
                <h2>Check and reload</h2>
                <p><code>stillroomd --site /etc/stillroom/site.ini --check</code> lists every mistake by its line.
                When it finds none: <code>systemctl reload stillroomd</code>. The first reading appears on this page by itself.</p>
            </li>
        </ol>`;
}

const EXAMPLE = `[bus bench-line]
kind = modbus-rtu
device = /dev/ttyUSB0
baud = 9600

[instrument dr-1]
bus = bench-line
unit = 3
serial = 41177
every = 30 s
zone = drying-room
read = temperature  input 1 int16  x0.1
read = humidity     input 2 uint16 x0.1

[zone drying-room]
title = Drying room
purpose = drying`;

/** Sensors are named, none has answered. @param {{state: import("../store.js").State}} props */
function Waiting({ state }) {
    const zones = state.zones ?? [];
    return html`
        <div class="opening">
            <h1>Waiting for the first reading</h1>
            <p class="lede">${zones.length > 0 ? "The sensors are named, but none has answered yet." : "Sensors are named, but no room."} The first reading appears here by itself.</p>
        </div>
        <ol class="steps">
            <li><h2>See what each sensor says</h2>
                <p>The page <${Link} href="/instruments">Instruments<//> tells for each one whether it was asked and why it did not answer.</p></li>
            <li><h2>Look at the line</h2>
                <p>Is the sensor's supply on? Are A and B the right way round? Do baud rate, parity and unit number agree with the maker's sheet?</p>
                <p class="caution">Work on the supply only while it is off.</p></li>
            <li><h2>Ask the bus</h2>
                <p><code>stillroom probe BUS</code> shows which units answer at all.</p></li>
        </ol>
        ${zones.length > 0 && html`<h2>Rooms in the site file</h2>
        <ul>${zones.map((zone) => html`<li><bdi>${zone.title}</bdi></li>`)}</ul>`}`;
}
