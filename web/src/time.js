// time.js - the studio's wall clock: every time a person reads goes through here.
//
// Times are UTC seconds. Days, midnights and names are those of the studio's time zone, not
// of the browser's: a lender in another country must read the same hours as the studio.

/**
 * @typedef {{year: number, month: number, day: number, hour: number, minute: number,
 *            second: number, weekday: string}} Parts
 * @typedef {ReturnType<typeof makeClock>} Clock
 */

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
const DAY = 86400;

/** @param {number} n */
const two = (n) => String(n).padStart(2, "0");

/**
 * @param {string} timezone an IANA name; UTC is taken where the browser does not know it
 */
export function makeClock(timezone) {
    /** @type {Intl.DateTimeFormatOptions} */
    const options = {
        timeZone: timezone,
        hourCycle: "h23",
        weekday: "long",
        year: "numeric",
        month: "numeric",
        day: "numeric",
        hour: "numeric",
        minute: "numeric",
        second: "numeric",
    };
    /** @type {Intl.DateTimeFormat} */
    let format;
    try {
        format = new Intl.DateTimeFormat("en-GB", options);
    } catch {
        format = new Intl.DateTimeFormat("en-GB", { ...options, timeZone: "UTC" });
    }

    /** @param {number} t @returns {Parts} */
    function parts(t) {
        /** @type {Record<string, string>} */
        const found = {};
        for (const part of format.formatToParts(t * 1000)) found[part.type] = part.value;
        return {
            year: Number(found.year),
            month: Number(found.month),
            day: Number(found.day),
            hour: Number(found.hour),
            minute: Number(found.minute),
            second: Number(found.second),
            weekday: found.weekday,
        };
    }

    /** Seconds the studio's clock is ahead of UTC. @param {number} t */
    function offset(t) {
        const p = parts(t);
        return Date.UTC(p.year, p.month - 1, p.day, p.hour, p.minute, p.second) / 1000 - Math.floor(t);
    }

    /** The UTC second of a local midnight. @param {number} year @param {number} month @param {number} day */
    function midnight(year, month, day) {
        const local = Date.UTC(year, month - 1, day) / 1000;
        const guess = local - offset(local);
        return local - offset(guess);
    }

    /** The midnight that began t's day. @param {number} t */
    function startOfDay(t) {
        const p = parts(t);
        return midnight(p.year, p.month, p.day);
    }

    /** Whole local days from t's day to now's. @param {number} t @param {number} now */
    function daysAgo(t, now) {
        const a = parts(t);
        const b = parts(now);
        return (Date.UTC(b.year, b.month - 1, b.day) - Date.UTC(a.year, a.month - 1, a.day)) / (DAY * 1000);
    }

    /** "14:02" @param {number} t */
    function time(t) {
        const p = parts(t);
        return `${two(p.hour)}:${two(p.minute)}`;
    }

    /** "24 Nov 2026" @param {number} t */
    function date(t) {
        const p = parts(t);
        return `${p.day} ${MONTHS[p.month - 1]} ${p.year}`;
    }

    /** "+01:00" @param {number} t */
    function zone(t) {
        const minutes = Math.round(offset(t) / 60);
        const size = Math.abs(minutes);
        return `${minutes < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
    }

    return {
        parts,
        offset,
        midnight,
        startOfDay,
        time,
        date,
        zone,

        /** Midnights after from, up to and including to. @param {number} from @param {number} to */
        midnights(from, to) {
            const found = [];
            const p = parts(from);
            for (let i = 1; ; i++) {
                const t = midnight(p.year, p.month, p.day + i);
                if (t > to) return found;
                found.push(t);
            }
        },

        /** "14:02", "yesterday 14:02", "Saturday 23:50" or "3 Nov 2026, 14:02". @param {number} t @param {number} now */
        when(t, now) {
            const days = daysAgo(t, now);
            if (days === 0) return time(t);
            if (days === 1) return `yesterday ${time(t)}`;
            if (days > 1 && days < 7) return `${parts(t).weekday} ${time(t)}`;
            return `${date(t)}, ${time(t)}`;
        },

        /** "Tuesday 24 Nov 2026" @param {number} t */
        longDate(t) {
            return `${parts(t).weekday} ${date(t)}`;
        },

        /** "24 Nov 2026, 14:02 +00:00" @param {number} t */
        stamp(t) {
            return `${date(t)}, ${time(t)} ${zone(t)}`;
        },

        /** ISO 8601 with offset, for machines. @param {number} t */
        iso(t) {
            const p = parts(t);
            return `${p.year}-${two(p.month)}-${two(p.day)}T${two(p.hour)}:${two(p.minute)}:${two(p.second)}${zone(t)}`;
        },

        /** "Tue" @param {number} t */
        dayName(t) {
            return parts(t).weekday.slice(0, 3);
        },

        /** "Nov" @param {number} t */
        monthName(t) {
            return MONTHS[parts(t).month - 1];
        },
    };
}
