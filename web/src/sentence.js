// sentence.js - every sentence the pages say is made here, from figures alone.
//
// Pure: no page, no network, no clock; the time is an argument. Names that people chose are not
// in these sentences: the pages set them in elements of their own, so that a name written from
// right to left does not turn a sentence.
import { quantity, withUnit } from "./quantity.js";

/**
 * @typedef {import("./api.js").Zone} Zone
 * @typedef {import("./api.js").Alarm} Alarm
 * @typedef {import("./api.js").Gap} Gap
 * @typedef {import("./api.js").Limit} Limit
 * @typedef {import("./api.js").Series} Series
 * @typedef {import("./api.js").Studio} Studio
 * @typedef {import("./api.js").Instrument} Instrument
 * @typedef {import("./api.js").Fitness} Fitness
 * @typedef {import("./time.js").Clock} Clock
 * @typedef {{clock: Clock, now: number}} At
 * @typedef {{from: number, to: number, open: boolean, side: "above" | "below", limit: number, worst: number}} Excursion
 */

const HOUR = 3600;
const DAY = 86400;

/* Where a change of humidity or temperature gets its word, per hour over the last three hours:
 * below the first it is steady, up to the second slow, from the third fast (project choice; the
 * first is about what a good sensor's own noise amounts to). */
const PACE = { humidity: [0.35, 1.2, 4], temperature: [0.15, 0.5, 2] };

/** @param {string} text */
export const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** "a", "a and b", "a, b and c" @param {string[]} items */
export function list(items) {
    if (items.length < 2) return items.join("");
    return `${items.slice(0, -1).join(", ")} and ${items[items.length - 1]}`;
}

const SMALL = ["no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];

/** @param {number} n */
const number = (n) => SMALL[n] ?? n.toLocaleString("en-GB");

/** "one room", "13 rooms" @param {number} n @param {string} one @param {string} [many] */
export function count(n, one, many = `${one}s`) {
    return `${number(n)} ${n === 1 ? one : many}`;
}

/** "40 s", "25 min", "9 h", "2 h 30 min", "3 days" @param {number} seconds */
export function duration(seconds) {
    const s = Math.max(0, Math.round(seconds));
    if (s < 90) return `${s}\u00a0s`;
    const minutes = Math.round(s / 60);
    if (minutes < 90) return `${minutes}\u00a0min`;
    if (s < 10 * HOUR && minutes % 60 !== 0) return `${Math.floor(minutes / 60)}\u00a0h ${minutes % 60}\u00a0min`;
    if (s < 2 * DAY) return `${Math.round(s / HOUR)}\u00a0h`;
    return `${Math.round(s / DAY)}\u00a0days`;
}

/** "12 s ago" @param {number} t @param {number} now */
export function ago(t, now) {
    return now - t < 5 ? "just now" : `${duration(now - t)} ago`;
}

/**
 * "steady", "falling slowly", "rising fast".
 * @param {"humidity" | "temperature"} what @param {number | null | undefined} perHour
 */
export function pace(what, perHour) {
    if (perHour === null || perHour === undefined) return "";
    const [still, slow, fast] = PACE[what];
    const size = Math.abs(perHour);
    if (size < still) return "steady";
    const way = perHour > 0 ? "rising" : "falling";
    if (size < slow) return `${way} slowly`;
    return size < fast ? way : `${way} fast`;
}

/** @param {Zone} zone @param {string} name @returns {number | null} */
export function valueNow(zone, name) {
    const value = zone.now?.[name]?.value;
    return typeof value === "number" ? value : null;
}

/** The contacts that ask for a word. @param {Zone} zone */
function contactWords(zone) {
    const said = [];
    if (valueNow(zone, "leak") === 1) said.push("Water: the leak contact is closed.");
    if (valueNow(zone, "mains") === 0) said.push("The mains power is off.");
    if (valueNow(zone, "tank_full") === 1) said.push("The tank is full.");
    if (valueNow(zone, "door") === 1) said.push("The door is open.");
    return said;
}

/** Alarms that still stand; not those over and done with, paused or out of service. @param {Zone} zone */
export function standing(zone) {
    return zone.alarms.filter((alarm) => alarm.state === "unacknowledged" || alarm.state === "acknowledged");
}

/**
 * The sentence a room begins with.
 * @param {Zone} zone @param {At} at
 * @param {Record<string, {value: number, t: number}>} [lastKnown] last values of a quiet zone
 */
export function zoneSentence(zone, at, lastKnown = {}) {
    if (zone.instruments.length === 0) return "No sensor stands here yet.";
    if (zone.now === null && zone.first === null)
        return `No reading yet: ${count(zone.instruments.length, "sensor is", "sensors are")} named for this place, and none has answered.`;

    const humidity = valueNow(zone, "humidity");
    const temperature = valueNow(zone, "temperature");
    const said = [];
    if (humidity === null && temperature === null) {
        said.push(quietSentence(zone, at));
        const known = ["humidity", "temperature"].filter((name) => lastKnown[name]);
        if (known.length > 0) {
            const values = known.map((name) => withUnit(name, lastKnown[name].value));
            said.push(`Last known: ${values.join(" and ")}, ${at.clock.when(lastKnown[known[0]].t, at.now)}.`);
        }
    } else if (humidity === null) {
        said.push(
            `${withUnit("temperature", Number(temperature))}${trail(pace("temperature", zone.trend?.temperature_per_hour))}; no humidity is read just now.`,
        );
    } else {
        const emc = valueNow(zone, "emc");
        const wood = emc === null ? "" : `; bare wood here would settle at ${withUnit("emc", emc)}`;
        said.push(`${withUnit("humidity", humidity)}${trail(pace("humidity", zone.trend?.humidity_per_hour))}${wood}.`);
    }
    return [...said, ...contactWords(zone)].join(" ");
}

/** @param {string} words */
const trail = (words) => (words ? `, ${words}` : "");

/** @param {Zone} zone @param {At} at */
export function quietSentence(zone, at) {
    if (zone.quiet) return `No reading since ${at.clock.when(zone.quiet.since, at.now)}: ${zone.quiet.text}.`;
    const last = zone.now?.t ?? zone.instruments.reduce((t, i) => Math.max(t, i.last ?? 0), 0);
    return last ? `No reading since ${at.clock.when(last, at.now)}.` : "No reading just now.";
}

/** What the strip is for: "drying, two sensors". @param {Zone} zone */
export function placeLine(zone) {
    const purpose = zone.purpose === "other" ? "" : zone.purpose;
    const sensors = zone.instruments.length ? count(zone.instruments.length, "sensor") : "no sensor";
    return [purpose, sensors].filter(Boolean).join(" · ");
}

/**
 * What the whole studio comes to; the rooms to be named are given apart so that a page can link
 * them.
 * @param {Zone[]} zones
 * @returns {{text: string, rooms: {zone: Zone, why: string}[]}}
 */
export function studioSentence(zones) {
    const rooms = [];
    for (const zone of zones) {
        const alarms = standing(zone);
        if (alarms.length > 0) rooms.push({ zone, why: count(alarms.length, "alarm") });
        else if (zone.quiet) rooms.push({ zone, why: "quiet" });
    }
    const all = count(zones.length, "room");
    if (rooms.length === 0) {
        const waiting = zones.filter((zone) => zone.now === null && zone.first === null).length;
        if (waiting === zones.length) return { text: `${capital(all)}, no reading yet.`, rooms };
        return { text: `${capital(all)}, and no alarm${zones.length > 1 ? " in any of them" : ""}.`, rooms };
    }
    const ask = rooms.length === 1 ? "asks" : "ask";
    const share = zones.length === 1 ? "One room, and it" : `${capital(number(rooms.length))} of ${number(zones.length)} rooms`;
    return { text: `${share} ${ask} for a look:`, rooms };
}

/**
 * The spans a series spent beyond the nearest limits of its kind, oldest first.
 * @param {Series} series @param {Limit[]} limits of this quantity
 * @returns {Excursion[]}
 */
export function excursions(series, limits) {
    const { above, below } = band(limits, series.quantity);
    // Air that dips below a limit for a while and comes back was beyond it once, not twice.
    const reach = Math.max(series.step * 2, 2 * HOUR);
    const silent = (/** @type {number} */ from, /** @type {number} */ to) => series.gaps.some((gap) => gap.from < to && (gap.to ?? Infinity) > from);
    /** @type {Excursion[]} */
    const found = [];
    for (const [side, limit] of /** @type {const} */ ([["above", above], ["below", below]])) {
        if (limit === null) continue;
        /** @type {Excursion | null} */
        let open = null;
        series.t.forEach((t, i) => {
            const value = side === "above" ? series.max[i] : series.min[i];
            const beyond = side === "above" ? series.mean[i] > limit : series.mean[i] < limit;
            if (!beyond) return;
            if (open && (t - open.to > reach || silent(open.to, t))) open = null;
            if (!open) found.push((open = { from: t, to: t, open: false, side, limit, worst: value }));
            open.to = t + series.step;
            open.worst = side === "above" ? Math.max(open.worst, value) : Math.min(open.worst, value);
        });
        const last = series.t[series.t.length - 1];
        // It goes on if the very last reading is beyond, and that one is fresh.
        const latest = /** @type {Excursion | null} */ (open);
        if (latest) latest.open = latest.to >= last + series.step && series.to - last <= Math.max(series.step * 2, 900);
    }
    return found.sort((a, b) => a.from - b.from);
}

/**
 * The nearest limits either side. @param {Limit[]} limits @param {string} name
 * @returns {{above: number | null, below: number | null}}
 */
export function band(limits, name) {
    /** @param {string} rule */
    const values = (rule) =>
        limits.filter((l) => l.quantity === name && l.rule === rule && typeof l.value === "number").map((l) => Number(l.value));
    const above = values("above");
    const below = values("below");
    return {
        above: above.length ? Math.min(...above) : null,
        below: below.length ? Math.max(...below) : null,
    };
}

/** @param {string} name @param {Excursion} e @param {At} at */
export function excursionSentence(name, e, at) {
    const limit = `${e.side === "above" ? "Above" : "Below"} ${withUnit(name, e.limit)}`;
    const span = e.open
        ? `since ${at.clock.when(e.from, at.now)}`
        : `from ${at.clock.when(e.from, at.now)} to ${endOf(e.from, e.to, at)} (${duration(e.to - e.from)})`;
    return `${limit} ${span}, at ${e.side === "above" ? "most" : "least"} ${withUnit(name, e.worst)}.`;
}

/** An end on the same day needs no second day name. @param {number} from @param {number} to @param {At} at */
function endOf(from, to, at) {
    return at.clock.startOfDay(from) === at.clock.startOfDay(to) ? at.clock.time(to) : at.clock.when(to, at.now);
}

/** @param {Gap} gap @param {At} at */
export function gapSentence(gap, at) {
    const from = at.clock.when(gap.from, at.now);
    if (gap.to === null) return `No readings since ${from}: ${gap.text}.`;
    if (gap.to - gap.from < 90) return `No readings for ${duration(gap.to - gap.from)} (${from}): ${gap.text}.`;
    return `No readings from ${from} to ${endOf(gap.from, gap.to, at)} (${duration(gap.to - gap.from)}): ${gap.text}.`;
}

/** @type {Record<string, string>} */
const ALARM_STATES = {
    unacknowledged: "not yet acknowledged",
    acknowledged: "acknowledged",
    returned: "over, but not yet acknowledged",
    shelved: "paused",
    out_of_service: "out of service",
    normal: "over",
};

/** @param {string} state */
export const alarmState = (state) => ALARM_STATES[state] ?? state.replaceAll("_", " ");

/** "for 8 h 55 min", "for 43 h so far" @param {Alarm} alarm @param {At} at */
export function alarmLength(alarm, at) {
    return alarm.until === null ? `for ${duration(at.now - alarm.since)} so far` : `for ${duration(alarm.until - alarm.since)}`;
}

/**
 * Hours at or above the damp marks, which are said before any mould index.
 * @param {Record<string, number> | null} damp
 */
export function dampSentence(damp) {
    if (!damp) return "Hours at or above 65, 75 and 80\u00a0% are not known yet.";
    const marks = ["65", "75", "80"].map((mark) => {
        const h = damp[mark] ?? 0;
        return `${h > 0 && h < 1 ? "less than 1\u00a0h" : h > 0 ? `${Math.round(h).toLocaleString("en-GB")}\u00a0h` : "none"} at or above ${mark}\u00a0%`;
    });
    const covered = damp.covered;
    // Coverage is always said: 30 h out of 700 is not 30 h out of 40.
    const share = typeof covered === "number" ? `, with readings for ${Math.round(covered).toLocaleString("en-GB")} of 720\u00a0h` : "";
    return `In the last 30 days: ${list(marks)}${share}.`;
}

/**
 * What must be said beside a figure wherever it is shown, or "".
 * @param {string} name @param {Zone} zone
 */
export function caveat(name, zone) {
    if (name === "mould_index")
        return "Calculated for clean material at this sensor; not a clearance. Size, paste, starch and dirt can grow mould in drier air than this index counts.";
    if (name === "dew_margin" && !zone.quantities.includes("surface_temperature"))
        return "Air only: no surface is measured here, and a cold wall or glass is nearer to dew than the air.";
    if (name === "surface_humidity") return "A sensor error of 1 K moves this figure by about 6\u00a0% of itself.";
    return "";
}

/** @type {Record<string, string>} */
const FIT = { fit: "fit", unfit: "not fit", unknown: "not known" };

/** @param {Fitness} f */
export function fitnessSentence(f) {
    const work = capital(f.work.replaceAll("_", " "));
    const now = FIT[f.now] ?? f.now;
    const morning = FIT[f.until_morning] ?? f.until_morning;
    const words = f.now === f.until_morning ? `${now}, now and until morning` : `${now} now; until morning ${morning}`;
    return `${work}: ${words}${f.reason ? ` (${f.reason})` : ""}.`;
}

/**
 * What must stand beside the answers, each caution once; the longest says what a shorter one does.
 * @param {import("./api.js").Fitness[]} all @returns {string[]}
 */
export function cautions(all) {
    const texts = [...new Set(all.map((f) => f.caution).filter((text) => text !== ""))];
    return texts.filter((text) => !texts.some((other) => other !== text && other.includes(text)));
}

/**
 * What a room is fit for, in a line or two; the reasons stand on the room's own page.
 * @param {Fitness[]} all @returns {string[]}
 */
export function fitnessSummary(all) {
    /** @param {"now" | "until_morning"} when */
    const words = (when) =>
        ["fit", "unfit", "unknown"]
            .map((verdict) => ({ verdict, works: all.filter((f) => f[when] === verdict).map((f) => f.work.replaceAll("_", " ")) }))
            .filter(({ works }) => works.length > 0)
            .map(({ verdict, works }) => `${FIT[verdict]} for ${list(works)}`)
            .join("; ");
    const [now, morning] = [words("now"), words("until_morning")];
    if (!now) return [];
    if (now === morning) return [`${capital(now)}, now and until morning.`];
    return [`Now ${now}.`, `Until morning ${morning}.`];
}

/**
 * Whether the page still hears from the daemon.
 * @param {{state: "connecting" | "live" | "lost", since: number}} link @param {At} at
 */
export function linkSentence(link, at) {
    if (link.state === "live") return "Connected; new readings appear by themselves.";
    if (link.state === "connecting") return "Connecting.";
    return `Not connected since ${at.clock.when(link.since, at.now)}; showing what was last known.`;
}

/** What keeps the studio from being recorded, or "". @param {Studio} studio @param {At} at */
export function recordingSentence(studio, at) {
    const { recording } = studio;
    if (recording.state !== "cannot_write") return "";
    const detail = recording.detail ? `: ${recording.detail}` : "";
    return `Readings cannot be written since ${at.clock.when(recording.since, at.now)}${detail}. Look at the disk of the machine that Stillroom runs on; what is not written will show as a gap.`;
}

/** @param {Studio} studio */
export function clockSentence(studio) {
    if (studio.clock !== "unsynchronised") return "";
    return "The machine's clock has not been set by a time source yet. Readings are kept and marked so; no day is signed until it is.";
}

/** What was never told to anybody; "" if there is nothing. @param {Studio} studio */
export function postSentence(studio) {
    const { waiting, given_up: lost } = studio.messages;
    if (lost === 0) return "";
    const more = waiting ? ` ${waiting} more wait.` : "";
    return `Not delivered in a week of tries, in the last thirty days: ${count(lost, "message")} about alarms.${more} Look at the log and at [mail] in the site file.`;
}

/** @param {Studio} studio @param {At} at */
export function keptSentence(studio, at) {
    const last = studio.recording.last_commit;
    const kept = last === null ? "Nothing recorded yet" : `Last written ${ago(last, at.now)}`;
    const days = studio.signed_days
        ? `${count(studio.signed_days, "day")} signed${studio.last_signed_day ? `, the last ${studio.last_signed_day}` : ""}`
        : "no day signed yet";
    return `${kept}; ${days}.`;
}

/** @param {Instrument} i @param {At} at */
export function instrumentSentence(i, at) {
    const last = i.last === null ? "" : ` ${ago(i.last, at.now)}`;
    if (i.state === "reading") return `Reading every ${duration(i.every_s)}; last answer${last || " not yet"}.`;
    const why = i.text ? `: ${i.text}` : "";
    if (i.state === "never") return `Has never answered${why}.`;
    return i.last === null ? `Not answering${why}.` : `Not answering since ${at.clock.when(i.last, at.now)}${why}.`;
}

/** "3 of 8,640 requests failed" @param {number} polls @param {number} failures */
export function pollSentence(polls, failures) {
    if (polls === 0) return "Not asked yet.";
    if (failures === 0) return `${polls.toLocaleString("en-GB")} requests, none failed.`;
    return `${failures.toLocaleString("en-GB")} of ${polls.toLocaleString("en-GB")} requests failed.`;
}

/**
 * Least, middle and most of a series between two times, weighing buckets alike.
 * @param {Series} series @param {number} from @param {number} to
 * @returns {{least: number, leastAt: number, mean: number, most: number, mostAt: number, covered: number} | null}
 */
export function summary(series, from, to) {
    let least = Infinity;
    let most = -Infinity;
    let leastAt = 0;
    let mostAt = 0;
    let sum = 0;
    let n = 0;
    series.t.forEach((t, i) => {
        if (t + series.step < from || t > to) return;
        if (series.min[i] < least) [least, leastAt] = [series.min[i], t];
        if (series.max[i] > most) [most, mostAt] = [series.max[i], t];
        sum += series.mean[i];
        n += 1;
    });
    if (n === 0) return null;
    const missing = series.gaps.reduce((lost, gap) => {
        const end = Math.min(gap.to ?? to, to);
        return lost + Math.max(0, end - Math.max(gap.from, from));
    }, 0);
    const covered = to > from ? 1 - Math.min(1, missing / (to - from)) : 1;
    return { least, leastAt, mean: sum / n, most, mostAt, covered };
}

/** "18 Nov 2026, 07:49 to 25 Nov 2026, 07:49"; whole days need no hours. @param {number} from @param {number} to @param {At} at */
export function spanWords(from, to, at) {
    const { clock } = at;
    if (to - from > 20 * DAY) return `${clock.date(from)} to ${clock.date(to)}`;
    if (clock.startOfDay(from) === clock.startOfDay(to)) return `${clock.longDate(from)}, ${clock.time(from)} to ${clock.time(to)}`;
    return `${clock.date(from)}, ${clock.time(from)} to ${clock.date(to)}, ${clock.time(to)}`;
}

/**
 * The chart of a zone in one sentence, for those who do not see it.
 * @param {Series[]} series @param {number} from @param {number} to @param {At} at
 * @param {number | null} [first] when the record begins
 */
export function spanSentence(series, from, to, at, first = null) {
    const span = `${capital(at.clock.stamp(from))} to ${at.clock.stamp(to)}`;
    const parts = [];
    let covered = 1;
    for (const s of series) {
        const found = summary(s, Math.max(from, first ?? from), to);
        if (!found) continue;
        covered = Math.min(covered, found.covered);
        if (quantity(s.quantity).kind === "contact") {
            parts.push(`${quantity(s.quantity).short} ${found.most >= 0.5 ? "at times" : "never"}`);
            continue;
        }
        const [least, most] = [withUnit(s.quantity, found.least), withUnit(s.quantity, found.most)];
        // An average over a span that was mostly not read would be one of something else.
        const mean = found.covered < 0.75 || least === most ? "" : `, on average ${withUnit(s.quantity, found.mean)}`;
        parts.push(`${quantity(s.quantity).short} ${least === most ? `at ${least}` : `between ${least} and ${most}`}${mean}`);
    }
    if (parts.length === 0) return `${span}: no readings.`;
    const share = covered > 0.995 ? "" : ` Readings cover ${Math.floor(covered * 100)}\u00a0% of this span.`;
    const begins = first !== null && first > from + 60 ? ` The record begins ${at.clock.when(first, at.now)}.` : "";
    return `${span}: ${parts.join("; ")}.${share}${begins}`;
}
