// api.js - the HTTP interface as the pages see it: its shapes, and one careful fetch.

/**
 * @typedef {object} Studio
 * @property {string} name
 * @property {string} timezone
 * @property {boolean} demo
 * @property {string} version
 * @property {number} now
 * @property {number} altitude_m
 * @property {"good" | "unsynchronised" | "trusted"} clock
 * @property {{state: "recording" | "cannot_write", detail: string | null, last_commit: number | null,
 *             since: number, queue: number}} recording
 * @property {number} sensors
 * @property {number} signed_days
 * @property {string | null} last_signed_day
 * @property {{waiting: number, given_up: number}} messages
 * @property {string} key
 *
 * @typedef {{value: number, t: number, flags?: string[]}} Value
 * @typedef {{t: number} & Record<string, any>} Now a Value under each quantity's name
 *
 * @typedef {object} Limit
 * @property {string} name
 * @property {string} text
 * @property {string} quantity
 * @property {"above" | "below" | "range" | "dew_margin" | "contact" | "silent"} rule
 * @property {number | null} value
 * @property {string} priority
 * @property {string | null} source
 *
 * @typedef {object} Alarm
 * @property {string | number} id
 * @property {string} limit
 * @property {string | null} zone
 * @property {string | null} zone_title
 * @property {string | null} instrument
 * @property {string | null} quantity
 * @property {string} state
 * @property {string} priority
 * @property {number} since
 * @property {number | null} until
 * @property {number | null} value
 * @property {number | null} threshold
 * @property {string} text
 *
 * @typedef {{t: number, from: string, to: string, value: number | null, person: string | null,
 *            reason: string | null}} AlarmEvent
 *
 * @typedef {{name: string, serial: string, quantities: string[], every_s: number,
 *            last: number | null}} ZoneInstrument
 *
 * @typedef {"fit" | "unfit" | "unknown"} Fit
 * @typedef {{work: string, now: Fit, until_morning: Fit, reason: string, caution: string}} Fitness
 *
 * @typedef {object} Zone
 * @property {string} id
 * @property {string} title
 * @property {string} purpose
 * @property {string | null} lead
 * @property {ZoneInstrument[]} instruments
 * @property {string[]} quantities
 * @property {number | null} first
 * @property {Now | null} now
 * @property {{humidity_per_hour: number | null, temperature_per_hour: number | null}} trend
 * @property {{since: number, reason: string, text: string} | null} quiet
 * @property {Limit[]} limits
 * @property {Alarm[]} alarms
 * @property {Record<string, number> | null} damp_hours
 * @property {Fitness[] | null} fitness
 *
 * @typedef {{from: number, to: number | null, reason: string, text: string}} Gap
 *
 * @typedef {object} Series
 * @property {string} zone
 * @property {string} quantity
 * @property {string} unit
 * @property {number} from
 * @property {number} to
 * @property {number} step
 * @property {number[]} t
 * @property {number[]} min
 * @property {number[]} mean
 * @property {number[]} max
 * @property {Gap[]} gaps
 *
 * @typedef {object} Instrument
 * @property {string} name
 * @property {string} serial
 * @property {string} bus
 * @property {number} unit
 * @property {string | null} zone
 * @property {number} every_s
 * @property {string} placement
 * @property {string[]} quantities
 * @property {"reading" | "failing" | "never"} state
 * @property {number | null} last
 * @property {string | null} reason
 * @property {string | null} text
 * @property {number} polls
 * @property {number} failures
 */

const PATIENCE_MS = 20000;

/** What went wrong, in words for the page. */
export class ApiError extends Error {
    /** @param {string} message @param {number} status 0: no answer at all */
    constructor(message, status) {
        super(message);
        this.status = status;
    }
}

/**
 * @param {string} path below /api/v1/
 * @param {AbortSignal} [signal]
 * @returns {Promise<any>}
 */
export async function get(path, signal) {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), PATIENCE_MS);
    const stop = () => patience.abort();
    signal?.addEventListener("abort", stop, { once: true });
    try {
        const answer = await fetch(`/api/v1/${path}`, {
            signal: patience.signal,
            headers: { accept: "application/json" },
        });
        if (!answer.ok) {
            const problem = await answer.json().catch(() => null);
            throw new ApiError(problem?.detail ?? problem?.title ?? `status ${answer.status}`, answer.status);
        }
        return await answer.json();
    } catch (error) {
        if (error instanceof ApiError || signal?.aborted) throw error;
        throw new ApiError("Stillroom did not answer", 0);
    } finally {
        clearTimeout(timer);
        signal?.removeEventListener("abort", stop);
    }
}

/** True for the error of a request that we ourselves called back. @param {unknown} error */
export function isAbort(error) {
    return error instanceof DOMException && error.name === "AbortError";
}

/**
 * @param {string} zone @param {string} quantity @param {number} from @param {number} to
 * @param {number} points @param {AbortSignal} [signal]
 * @returns {Promise<Series>}
 */
export function getSeries(zone, quantity, from, to, points, signal) {
    const query = new URLSearchParams({
        quantity,
        from: String(Math.floor(from)),
        to: String(Math.ceil(to)),
        points: String(Math.max(2, Math.min(4000, Math.round(points)))),
    });
    return get(`zones/${encodeURIComponent(zone)}/series?${query}`, signal);
}
