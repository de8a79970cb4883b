// sentences.mjs - what the pages say, from figures alone. Run by test_sentences.sh.
import assert from "node:assert/strict";
import { test } from "node:test";
import { figure, quantity, withUnit } from "../../web/src/quantity.js";
import * as say from "../../web/src/sentence.js";
import { move, preset, within, zoom } from "../../web/src/span.js";
import { makeClock } from "../../web/src/time.js";
import { stepFor, ticks, tickWords } from "../../web/src/axis.js";
import { nearest, periods, rows } from "../../web/src/twin.js";

const utc = (/** @type {string} */ text) => Date.parse(text) / 1000;
const clock = makeClock("Europe/London");
const NOW = utc("2026-11-25T14:30:00Z"); // a Wednesday
const at = { clock, now: NOW };
/** Sentences hold spaces that do not break; the tests read better without. @param {string} text */
const plain = (text) => text.replaceAll("\u00a0", " ").replaceAll("\u2212", "-");

/** @param {object} [more] @returns {any} */
const zone = (more = {}) => ({
    id: "bench",
    title: "Bench",
    purpose: "bench",
    lead: "b-1",
    instruments: [{ name: "b-1", serial: "1", quantities: ["temperature", "humidity"], every_s: 60, last: NOW - 20 }],
    quantities: ["temperature", "humidity", "emc"],
    first: NOW - 86400,
    now: { t: NOW, humidity: { value: 58.2, t: NOW }, temperature: { value: 20.4, t: NOW }, emc: { value: 10.7, t: NOW } },
    trend: { humidity_per_hour: -0.8, temperature_per_hour: 0.05 },
    quiet: null,
    limits: [],
    alarms: [],
    damp_hours: null,
    fitness: null,
    ...more,
});

/** @param {number[]} mean @param {object} [more] @returns {any} */
const series = (mean, more = {}) => ({
    zone: "bench",
    quantity: "humidity",
    unit: "%",
    from: NOW - mean.length * 900,
    to: NOW,
    step: 900,
    t: mean.map((_, i) => NOW - (mean.length - i) * 900),
    min: mean.map((v) => v - 1),
    mean,
    max: mean.map((v) => v + 1),
    gaps: [],
    ...more,
});
const above65 = [{ name: "damp", text: "humidity above 65 %", quantity: "humidity", rule: "above", value: 65, priority: "medium", source: "" }];

test("a room begins with its humidity, where it goes, and what wood makes of it", () => {
    assert.equal(plain(say.zoneSentence(zone(), at)), "58 %, falling slowly; bare wood here would settle at 10.7 %.");
    assert.equal(plain(say.zoneSentence(zone({ trend: { humidity_per_hour: null, temperature_per_hour: null } }), at)), "58 %; bare wood here would settle at 10.7 %.");
});

test("messages that never arrived are told, those that wait are not", () => {
    const studio = (/** @type {number} */ waiting, /** @type {number} */ lost) => /** @type {any} */ ({ messages: { waiting, given_up: lost } });
    assert.equal(say.postSentence(studio(2, 0)), "");
    assert.match(plain(say.postSentence(studio(0, 1))), /^Not delivered .* thirty days: one message about alarms\. Look at the log/);
    assert.match(plain(say.postSentence(studio(2, 3))), /: three messages about alarms\. 2 more wait\. Look/);
});

test("a change has a word for its pace", () => {
    for (const [perHour, words] of /** @type {[number, string][]} */ ([[0, "steady"], [0.3, "steady"], [-0.3, "steady"], [0.8, "rising slowly"], [-2, "falling"], [5, "rising fast"], [-9, "falling fast"]]))
        assert.equal(say.pace("humidity", perHour), words);
    assert.equal(say.pace("temperature", -1), "falling");
    assert.equal(say.pace("humidity", null), "");
});

test("a quiet room says since when, why, and what was last known", () => {
    const quiet = zone({ now: { t: NOW - 7200 }, quiet: { since: utc("2026-11-25T12:30:00Z"), reason: "no_answer", text: "the instrument did not answer" } });
    assert.equal(
        plain(say.zoneSentence(quiet, at, { humidity: { value: 61, t: utc("2026-11-25T12:29:00Z") } })),
        "No reading since 12:30: the instrument did not answer. Last known: 61 %, 12:29.",
    );
});

test("a room without sensor or reading is not called steady", () => {
    assert.equal(say.zoneSentence(zone({ instruments: [], now: null, first: null }), at), "No sensor stands here yet.");
    assert.match(say.zoneSentence(zone({ now: null, first: null }), at), /^No reading yet: one sensor is named/);
});

test("contacts that matter are said, others are not", () => {
    const now = { ...zone().now, leak: { value: 1, t: NOW }, door: { value: 0, t: NOW }, mains: { value: 0, t: NOW } };
    const said = say.zoneSentence(zone({ now }), at);
    assert.match(said, /leak/);
    assert.match(said, /mains power is off/);
    assert.doesNotMatch(said, /door/);
});

test("the studio is summed up by the rooms that ask for a look", () => {
    assert.equal(say.studioSentence([zone(), zone()]).text, "Two rooms, and no alarm in any of them.");
    const loud = zone({ id: "x", alarms: [{ state: "unacknowledged" }, { state: "acknowledged" }, { state: "shelved" }] });
    const found = say.studioSentence([zone(), loud, zone({ quiet: { since: 1, reason: "", text: "" } })]);
    assert.equal(found.text, "Two of three rooms ask for a look:");
    assert.deepEqual(found.rooms.map((r) => r.why), ["two alarms", "quiet"]);
    assert.equal(say.studioSentence([zone()]).text, "One room, and no alarm.");
    assert.equal(say.studioSentence([zone({ now: null, first: null })]).text, "One room, no reading yet.");
});

test("an excursion has a beginning, an end and a worst value", () => {
    const found = say.excursions(series([60, 60, 66, 70, 68, 60, 60, 60]), above65);
    assert.equal(found.length, 1);
    assert.equal(found[0].worst, 71);
    assert.equal(found[0].open, false);
    assert.equal(found[0].to - found[0].from, 3 * 900);
    assert.equal(plain(say.excursionSentence("humidity", found[0], at)), "Above 65 % from 13:00 to 13:45 (45 min), at most 71 %.");
});

test("an excursion that still lasts has no end", () => {
    const [found] = say.excursions(series([60, 60, 66, 70, 68]), above65);
    assert.equal(found.open, true);
    assert.equal(plain(say.excursionSentence("humidity", found, at)), "Above 65 % since 13:45, at most 71 %.");
});

test("a short return is one excursion, a gap makes two", () => {
    const values = [66, 66, 64, 64, 66, 66, 60, 60];
    assert.equal(say.excursions(series(values), above65).length, 1);
    const t = series(values).t;
    const gaps = [{ from: t[2], to: t[4], reason: "no_answer", text: "no answer" }];
    assert.equal(say.excursions(series(values, { gaps }), above65).length, 2);
});

test("without a limit nothing is an excursion, and the nearest limits make the band", () => {
    assert.deepEqual(say.excursions(series([99, 99]), []), []);
    const limits = [...above65, { ...above65[0], value: 75 }, { ...above65[0], rule: "below", value: 30 }, { ...above65[0], rule: "below", value: 40 }, { ...above65[0], rule: "range", value: 10 }];
    assert.deepEqual(say.band(/** @type {any} */ (limits), "humidity"), { above: 65, below: 40 });
    assert.deepEqual(say.band(/** @type {any} */ (limits), "temperature"), { above: null, below: null });
});

test("a gap is said with its reason, and whether it still lasts", () => {
    const gap = { from: utc("2026-11-24T22:00:00Z"), to: utc("2026-11-25T07:00:00Z"), reason: "no_answer", text: "the instrument did not answer" };
    assert.equal(plain(say.gapSentence(gap, at)), "No readings from yesterday 22:00 to 07:00 (9 h): the instrument did not answer.");
    assert.equal(plain(say.gapSentence({ ...gap, to: gap.from + 38 }, at)), "No readings for 38 s (yesterday 22:00): the instrument did not answer.");
    assert.equal(say.gapSentence({ ...gap, to: null }, at), "No readings since yesterday 22:00: the instrument did not answer.");
});

test("damp hours come with how much was read", () => {
    assert.equal(plain(say.dampSentence({ 65: 31.2, 75: 0.4, 80: 0, covered: 702 })), "In the last 30 days: 31 h at or above 65 %, less than 1 h at or above 75 % and none at or above 80 %, with readings for 702 of 720 h.");
    assert.match(say.dampSentence(null), /not known yet/);
});

test("a figure carries what must be said with it", () => {
    assert.match(say.caveat("mould_index", zone()), /clean material at this sensor; not a clearance/);
    assert.match(say.caveat("dew_margin", zone()), /^Air only/);
    assert.equal(say.caveat("dew_margin", zone({ quantities: ["surface_temperature"] })), "");
    assert.equal(say.caveat("emc", zone()), "");
});

test("the link says since when it is cut", () => {
    assert.equal(say.linkSentence({ state: "lost", since: utc("2026-11-25T14:02:00Z") }, at), "Not connected since 14:02; showing what was last known.");
});

test("the chart has a sentence, with coverage when readings are missing", () => {
    const whole = series([50, 52, 54, 56]);
    assert.match(plain(say.spanSentence([whole], whole.from, whole.to, at)), /humidity between 49 % and 57 %, on average 53 %\.$/);
    const holed = series([50, 52, 54, 56], { gaps: [{ from: whole.from, to: whole.from + 1800, reason: "x", text: "y" }] });
    const said = plain(say.spanSentence([holed], holed.from, holed.to, at));
    assert.match(said, /Readings cover 50 % of this span\.$/);
    assert.doesNotMatch(said, /on average/);
    assert.match(say.spanSentence([whole], whole.from - 7200, whole.to, at, whole.from), /The record begins 13:30\.$/);
    assert.match(say.spanSentence([], NOW - 60, NOW, at), /no readings\.$/);
});

test("a work is fit now and not tonight", () => {
    const varnish = { work: "varnishing", now: /** @type {const} */ ("fit"), until_morning: /** @type {const} */ ("unfit"), reason: "77 % on Sunday night", caution: "About the air alone. Solvent vapour: extraction." };
    const gesso = { work: "gesso", now: /** @type {const} */ ("fit"), until_morning: /** @type {const} */ ("fit"), reason: "", caution: "About the air alone." };
    const glue = { work: "animal glue", now: /** @type {const} */ ("fit"), until_morning: /** @type {const} */ ("unknown"), reason: "the surface is not measured", caution: "About the air alone." };
    assert.equal(say.fitnessSentence(varnish), "Varnishing: fit now; until morning not fit (77 % on Sunday night).");
    assert.equal(say.fitnessSentence(gesso), "Gesso: fit, now and until morning.");
    assert.deepEqual(say.fitnessSummary([gesso]), ["Fit for gesso, now and until morning."]);
    assert.deepEqual(say.fitnessSummary([varnish, gesso, glue]), ["Now fit for varnishing, gesso and animal glue.", "Until morning fit for gesso; not fit for varnishing; not known for animal glue."]);
    assert.deepEqual(say.fitnessSummary([]), []);
    assert.deepEqual(say.cautions([varnish, gesso, glue]), ["About the air alone. Solvent vapour: extraction."]);
    assert.deepEqual(say.cautions([gesso, glue]), ["About the air alone."]);
});

test("an instrument says whether it answers", () => {
    const i = { name: "b-1", serial: "1", bus: "b", unit: 3, zone: "bench", every_s: 30, placement: "", quantities: [], state: /** @type {const} */ ("reading"), last: NOW - 12, reason: null, text: null, polls: 1, failures: 0 };
    assert.equal(plain(say.instrumentSentence(i, at)), "Reading every 30 s; last answer 12 s ago.");
    assert.equal(say.instrumentSentence({ ...i, state: "failing", last: utc("2026-11-25T12:00:00Z"), text: "no answer" }, at), "Not answering since 12:00: no answer.");
    assert.equal(say.instrumentSentence({ ...i, state: "never", last: null }, at), "Has never answered.");
    assert.equal(plain(say.pollSentence(8640, 3)), "3 of 8,640 requests failed.");
});

test("a disk that fills is said with what to look at", () => {
    /** @type {any} */
    const studio = { recording: { state: "cannot_write", detail: "no space left", since: utc("2026-11-25T12:00:00Z"), last_commit: null, queue: 3 } };
    assert.match(say.recordingSentence(studio, at), /^Readings cannot be written since 12:00: no space left\. Look at the disk/);
    assert.equal(say.recordingSentence({ ...studio, recording: { ...studio.recording, state: "recording" } }, at), "");
});

test("figures have their quantity's decimals, a true minus, and no minus zero", () => {
    assert.equal(figure("temperature", -3.14), "\u22123.1");
    assert.equal(figure("temperature", -0.04), "0.0");
    assert.equal(withUnit("humidity", 57.6), "58\u00a0%");
    assert.equal(withUnit("door", 1), "yes");
    assert.equal(quantity("not_yet_known").title, "not yet known");
});

test("durations read as people say them", () => {
    for (const [s, words] of /** @type {[number, string][]} */ ([[40, "40 s"], [600, "10 min"], [7200, "2 h"], [9000, "2 h 30 min"], [40 * 3600, "40 h"], [9 * 86400, "9 days"], [-5, "0 s"]]))
        assert.equal(plain(say.duration(s)), words);
});

test("the studio's clock keeps its own days, summer time too", () => {
    // Europe/London left summer time on 25 October 2026 at 01:00 UTC.
    const day = clock.midnight(2026, 10, 25);
    assert.equal(day, utc("2026-10-24T23:00:00Z"));
    assert.equal(clock.midnight(2026, 10, 26) - day, 25 * 3600);
    assert.deepEqual(clock.midnights(day, day + 2 * 86400), [utc("2026-10-26T00:00:00Z")]);
    assert.equal(clock.iso(utc("2026-07-01T12:00:00Z")), "2026-07-01T13:00:00+01:00");
    assert.equal(clock.when(NOW - 3 * 86400, NOW), "Sunday 14:30");
    assert.equal(clock.when(NOW - 30 * 86400, NOW), "26 Oct 2026, 14:30");
    assert.equal(makeClock("Nowhere/Atall").time(NOW), "14:30");
    // Half-hour and quarter-hour zones.
    assert.equal(makeClock("Asia/Kathmandu").zone(NOW), "+05:45");
});

test("a span zooms around its centre and keeps inside the record", () => {
    assert.deepEqual(zoom({ from: 0, to: 100 }, 0.5, 0), { from: 0, to: 50 });
    assert.deepEqual(move({ from: 0, to: 100 }, 0.5), { from: 50, to: 150 });
    const first = NOW - 10 * 86400;
    assert.deepEqual(within({ from: NOW - 60, to: NOW }, first, NOW), { from: NOW - 3600, to: NOW });
    assert.deepEqual(within({ from: 0, to: NOW * 2 }, first, NOW), { from: first, to: NOW });
    assert.deepEqual(within({ from: NOW + 86400, to: NOW + 90000 }, first, NOW), { from: NOW - 3600, to: NOW });
    assert.deepEqual(preset("all", first, NOW), { from: first, to: NOW });
    assert.deepEqual(preset("day", first, NOW), { from: NOW - 86400, to: NOW });
});

test("ticks name the day where it changes", () => {
    const noon = utc("2026-11-24T12:00:00Z");
    const half = stepFor(noon, noon + 7 * 86400, 16);
    assert.equal(half.seconds, 43200);
    assert.deepEqual(tickWords([noon, noon + 43200, noon + 86400], half, clock), ["12:00", "00:00\nWed 25 Nov", "12:00"]);
    assert.deepEqual(tickWords([utc("2026-01-01T00:00:00Z")], stepFor(0, 10 * 366 * 86400, 10), clock), ["2026"]);
});

test("ticks lie on the studio's midnights and months, through the change of the clocks", () => {
    const from = utc("2026-10-23T10:00:00Z");
    const days = ticks(from, from + 4 * 86400, stepFor(from, from + 4 * 86400, 4), clock);
    assert.deepEqual(days.map((t) => new Date(t * 1000).toISOString().slice(0, 16)), ["2026-10-23T23:00", "2026-10-24T23:00", "2026-10-26T00:00", "2026-10-27T00:00"]);
    const year = utc("2025-09-25T00:00:00Z");
    const months = ticks(year, NOW, stepFor(year, NOW, 15), clock);
    assert.deepEqual(tickWords(months, stepFor(year, NOW, 15), clock).map((w) => w.replace(/\n.*/, "")), ["Oct", "Nov", "Dec", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov"]);
    const hour = ticks(NOW, NOW + 3600, stepFor(NOW, NOW + 3600, 6), clock);
    assert.deepEqual(hour, [0, 600, 1200, 1800, 2400, 3000, 3600].map((s) => NOW + s));
});

test("the table's periods are the studio's days, and hold what the series held", () => {
    const span = { from: utc("2026-10-24T23:00:00Z"), to: utc("2026-10-31T00:00:00Z") };
    const days = periods(span, clock);
    assert.equal(days.length, 6);
    assert.equal(days[0].to - days[0].from, 25 * 3600);
    const s = series([50, 54]);
    const [found] = rows(s, [{ from: s.t[0], to: s.t[0] + 1800, title: "" }]);
    assert.equal(found?.mean, 52);
    assert.equal(rows(s, [{ from: 0, to: 900, title: "" }])[0], null);
});

test("the cursor reads the nearest bucket and nothing in a hole", () => {
    const s = series([50, 52, 54]);
    assert.equal(nearest(s, s.t[1] + 450, 60)?.mean, 52);
    assert.equal(nearest(s, s.t[0] - 86400, 60), null);
    assert.equal(nearest(undefined, NOW, 60), null);
});
