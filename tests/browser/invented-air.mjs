// invented-air.mjs - an invented climate for the pages' tests: any moment of ten years, from a
// formula alone. It looks like air in a house; it is no model of anything.

const HOUR = 3600;
const DAY = 86400;
const YEAR = 365.25 * DAY;

/** A repeatable number in -1..1 for a whole number. @param {number} n @param {number} salt */
function noise(n, salt) {
    let x = Math.imul(n ^ (salt * 0x9e3779b1), 0x85ebca6b);
    x ^= x >>> 13;
    x = Math.imul(x, 0xc2b2ae35);
    x ^= x >>> 16;
    return (x >>> 0) / 2147483648 - 1;
}

/** Noise that runs smoothly, one knot a period. @param {number} t @param {number} period @param {number} salt */
function drift(t, period, salt) {
    const n = Math.floor(t / period);
    const share = t / period - n;
    const soft = share * share * (3 - 2 * share);
    return noise(n, salt) * (1 - soft) + noise(n + 1, salt) * soft;
}

/**
 * @param {{salt: number, t: number, rh: number, wet?: {from: number, rise: number, fade: number}[]}} room
 * @param {string} quantity @param {number} t
 * @returns {number}
 */
export function value(room, quantity, t) {
    const season = Math.cos(((t % YEAR) / YEAR) * 2 * Math.PI - 0.35);
    const day = Math.cos(((t % DAY) / DAY) * 2 * Math.PI - 3.9);
    const temperature = room.t - 3 * season + 0.9 * day + 0.8 * drift(t, 2 * DAY, room.salt) + 0.15 * drift(t, 900, room.salt + 1);
    let humidity = room.rh - 6 * season - 1.8 * day + 4 * drift(t, 3 * DAY, room.salt + 2) + 1.2 * drift(t, 5 * HOUR, room.salt + 3) + 0.4 * drift(t, 600, room.salt + 4);
    for (const wet of room.wet ?? []) if (t >= wet.from) humidity += wet.rise * Math.exp(-(t - wet.from) / wet.fade);
    humidity = Math.max(5, Math.min(99, humidity));
    const vapour = 610.9 * Math.exp((17.62 * temperature) / (243.12 + temperature)) * (humidity / 100);
    const ln = Math.log(vapour / 610.9);
    const dew = (243.12 * ln) / (17.62 - ln);
    const surface = temperature - 2.5 - 0.8 * season;
    switch (quantity) {
        case "temperature":
            return temperature;
        case "humidity":
            return humidity;
        case "surface_temperature":
            return surface;
        case "dew_point":
            return dew;
        case "absolute_humidity":
            return (2.1667 * vapour) / (temperature + 273.15);
        case "emc":
            return 1.2 + 0.155 * humidity + 0.0004 * humidity * humidity - 0.02 * temperature;
        case "mould_index":
            return Math.max(0, 0.3 + 0.3 * season + 0.1 * drift(t, 20 * DAY, room.salt));
        case "surface_humidity":
            return Math.min(100, humidity * (1 + 0.06 * (temperature - surface)));
        case "dew_margin":
            return surface - dew;
        case "door":
            return drift(t, 2 * HOUR, room.salt + 9) > 0.8 ? 1 : 0;
        default:
            return 0;
    }
}

const STEPS = [900, HOUR, 6 * HOUR, DAY, 4 * DAY];

/**
 * A series as the interface gives it.
 * @param {any} room @param {string} quantity @param {number} from @param {number} to @param {number} points
 * @param {{first: number, last: number, every: number, gaps: {from: number, to: number | null, reason: string, text: string}[]}} record
 */
export function series(room, quantity, from, to, points, record) {
    const begin = Math.max(from, record.first);
    const end = Math.min(to, record.last);
    const raw = (to - from) / record.every <= points;
    const step = raw ? 0 : (STEPS.find((s) => (to - from) / s <= points) ?? STEPS[STEPS.length - 1]);
    const gaps = record.gaps.filter((gap) => gap.from < to && (gap.to ?? Infinity) > from);
    const silent = (/** @type {number} */ t) => gaps.some((gap) => t >= gap.from && t < (gap.to ?? Infinity));
    const out = { t: [], min: [], mean: [], max: [] };
    const width = step || record.every;
    const two = (/** @type {number} */ v) => Math.round(v * 100) / 100;
    for (let t = (step ? Math.floor(begin / width) : Math.ceil(begin / width)) * width; t <= end; t += width) {
        if (silent(t) || (step && silent(t + step - 1))) continue;
        const samples = step ? Array.from({ length: 8 }, (_, i) => value(room, quantity, Math.min(t + (i * step) / 8, end))) : [value(room, quantity, t)];
        out.t.push(t);
        out.min.push(two(Math.min(...samples)));
        out.max.push(two(Math.max(...samples)));
        out.mean.push(two(samples.reduce((a, b) => a + b, 0) / samples.length));
    }
    return { from, to, step, ...out, gaps };
}
