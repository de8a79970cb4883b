// route.js - which page an address means, and links that do not load the page anew.
import { html } from "htm/preact";
import { useEffect, useState } from "preact/hooks";

/**
 * @typedef {{page: "rooms"} | {page: "zone", id: string} | {page: "alarms"}
 *         | {page: "instruments"} | {page: "unknown", path: string}} Route
 */

/** @param {string} path @returns {Route} */
export function parse(path) {
    const zone = /^\/zone\/([^/]+)\/?$/.exec(path);
    if (zone) {
        try {
            return { page: "zone", id: decodeURIComponent(zone[1]) };
        } catch {
            return { page: "unknown", path };
        }
    }
    const plain = path.replace(/\/$/, "") || "/";
    if (plain === "/") return { page: "rooms" };
    if (plain === "/alarms") return { page: "alarms" };
    if (plain === "/instruments") return { page: "instruments" };
    return { page: "unknown", path };
}

/** @type {Set<() => void>} */
const watchers = new Set();
const moved = () => watchers.forEach((watcher) => watcher());
window.addEventListener("popstate", moved);

/** @param {string} path */
export function go(path) {
    history.pushState(null, "", path);
    window.scrollTo(0, 0);
    moved();
}

/** @returns {Route} */
export function useRoute() {
    const [path, setPath] = useState(location.pathname);
    useEffect(() => {
        const watcher = () => setPath(location.pathname);
        watchers.add(watcher);
        return () => {
            watchers.delete(watcher);
        };
    }, []);
    return parse(path);
}

/** @param {string} id */
export const zonePath = (id) => `/zone/${encodeURIComponent(id)}`;

/**
 * @param {{href: string, children?: any, current?: boolean, class?: string}} props
 */
export function Link({ href, children, current, class: name }) {
    /** @param {MouseEvent} event */
    const onClick = (event) => {
        if (event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return;
        event.preventDefault();
        go(href);
    };
    return html`<a href=${href} class=${name} aria-current=${current ? "page" : undefined} onClick=${onClick}>${children}</a>`;
}
