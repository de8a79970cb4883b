// quantity.js - what each quantity is called, how it is written and drawn, what it means,
// and what must be said beside it wherever it is shown.

/**
 * @typedef {object} Quantity
 * @property {string} name
 * @property {string} title
 * @property {string} short for tight places
 * @property {string} unit
 * @property {number} decimals shown to people; records keep more
 * @property {"measured" | "contact" | "derived"} kind
 * @property {string} pane quantities of one pane share a scale
 * @property {"warm" | "wet" | "plain"} ink
 * @property {number[]} dash line style, so that no line is told by its colour alone
 * @property {string} meaning
 * @property {string} source
 */

const AIR = "Hyland & Wexler (1983), as in the ASHRAE Handbook";

/** @type {Quantity[]} */
const all = [
    {
        name: "temperature",
        title: "Temperature",
        short: "temperature",
        unit: "°C",
        decimals: 1,
        kind: "measured",
        pane: "degrees",
        ink: "warm",
        dash: [7, 3],
        meaning: "Of the air at the sensor.",
        source: "measured",
    },
    {
        name: "humidity",
        title: "Relative humidity",
        short: "humidity",
        unit: "%",
        decimals: 0,
        kind: "measured",
        pane: "percent",
        ink: "wet",
        dash: [],
        meaning: "Of the air at the sensor; wood, canvas and size follow it.",
        source: "measured",
    },
    {
        name: "surface_temperature",
        title: "Surface temperature",
        short: "surface temperature",
        unit: "°C",
        decimals: 1,
        kind: "measured",
        pane: "degrees",
        ink: "warm",
        dash: [7, 3, 1, 3],
        meaning: "Of the wall, glass or back that is watched.",
        source: "measured",
    },
    {
        name: "wood_moisture",
        title: "Wood moisture",
        short: "wood moisture",
        unit: "%",
        decimals: 1,
        kind: "measured",
        pane: "wood",
        ink: "plain",
        dash: [],
        meaning: "Per cent of dry mass, by the meter in the wood.",
        source: "measured",
    },
    {
        name: "dew_point",
        title: "Dew point",
        short: "dew point",
        unit: "°C",
        decimals: 1,
        kind: "derived",
        pane: "degrees",
        ink: "warm",
        dash: [1.5, 3],
        meaning: "A surface colder than this gets wet.",
        source: AIR,
    },
    {
        name: "absolute_humidity",
        title: "Absolute humidity",
        short: "absolute humidity",
        unit: "g/m³",
        decimals: 1,
        kind: "derived",
        pane: "vapour",
        ink: "wet",
        dash: [],
        meaning: "Water vapour in a cubic metre of this air. Opening a window dries a room only while the air outside holds less.",
        source: AIR,
    },
    {
        name: "emc",
        title: "Equilibrium moisture of wood",
        short: "equilibrium moisture of wood",
        unit: "%",
        decimals: 1,
        kind: "derived",
        pane: "wood",
        ink: "plain",
        dash: [7, 3],
        meaning: "Where bare wood left in this air would settle, per cent of dry mass. Paint, gesso and varnish slow it down.",
        source: "USDA Wood Handbook, eq. 4-5; within 1 % moisture either way",
    },
    {
        name: "mould_index",
        title: "Mould index",
        short: "mould index",
        unit: "",
        decimals: 2,
        kind: "derived",
        pane: "mould",
        ink: "plain",
        dash: [],
        meaning: "0 none, 1 first growth under a microscope, 3 to be seen by eye, 6 tight cover.",
        source: "VTT model: Hukka & Viitanen (1999), Ojanen, Viitanen et al. (2010)",
    },
    {
        name: "surface_humidity",
        title: "Humidity at the surface",
        short: "humidity at the surface",
        unit: "%",
        decimals: 0,
        kind: "derived",
        pane: "percent",
        ink: "wet",
        dash: [1.5, 3],
        meaning: "Relative humidity of the thin layer of air that touches the watched surface.",
        source: AIR,
    },
    {
        name: "dew_margin",
        title: "Surface above dew point",
        short: "surface above dew point",
        unit: "K",
        decimals: 1,
        kind: "derived",
        pane: "margin",
        ink: "plain",
        dash: [],
        meaning: "At 0 K the surface gets wet. Less than 1.5 K is within what the sensors may be wrong by.",
        source: AIR,
    },
    ...[
        ["leak", "Leak"],
        ["mains", "Mains power"],
        ["door", "Door open"],
        ["tank_full", "Tank full"],
        ["plant_running", "Plant running"],
    ].map(
        ([name, title]) =>
            /** @type {Quantity} */ ({
                name,
                title,
                short: title.toLowerCase(),
                unit: "",
                decimals: 0,
                kind: "contact",
                pane: `contact ${name}`,
                ink: "plain",
                dash: [],
                meaning: "A contact: yes or no.",
                source: "measured",
            }),
    ),
];

const byName = new Map(all.map((q) => [q.name, q]));

/**
 * A quantity this page does not know yet is still shown, under its own name.
 * @param {string} name
 * @returns {Quantity}
 */
export function quantity(name) {
    return (
        byName.get(name) ?? {
            name,
            title: name.replaceAll("_", " "),
            short: name.replaceAll("_", " "),
            unit: "",
            decimals: 2,
            kind: "derived",
            pane: name,
            ink: "plain",
            dash: [],
            meaning: "",
            source: "",
        }
    );
}

/** Contacts after what is measured or worked out, else as they come. @param {string[]} names */
export function inOrder(names) {
    const contact = (/** @type {string} */ name) => quantity(name).kind === "contact";
    return [...names.filter((name) => !contact(name)), ...names.filter(contact)];
}

/**
 * "58", "10.7", with a true minus sign.
 * @param {string} name @param {number} value
 */
export function figure(name, value) {
    const { decimals } = quantity(name);
    const text = value.toFixed(decimals);
    return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "\u2212");
}

/**
 * "58 %", "20.4 °C"; a contact says yes or no. The space does not break.
 * @param {string} name @param {number} value
 */
export function withUnit(name, value) {
    const { unit, kind } = quantity(name);
    if (kind === "contact") return value >= 0.5 ? "yes" : "no";
    return unit ? `${figure(name, value)}\u00a0${unit}` : figure(name, value);
}
