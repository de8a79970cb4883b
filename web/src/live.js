// live.js - one event stream for all tabs of a browser.
//
// A browser opens at most six connections to a host, and a stream holds one for good: six tabs
// would leave none. So the tab that gets the lock reads the stream and passes on what it hears
// by a broadcast channel; when it closes, the lock goes to the next. Where there are no locks
// (plain HTTP beyond this machine) each tab reads its own.

const NAME = "stillroom-live";
const RETRY_MS = 3000;
/* The daemon commits at least every 10 s and an idle stream is told nothing we can hear, so
 * after this long without an event we ask whether it is still there. */
const DOUBT_MS = 45000;

/**
 * @typedef {"connecting" | "live" | "lost"} LinkState
 * @typedef {{kind: "link", state: LinkState, since: number}
 *         | {kind: "event", name: string, data: any}
 *         | {kind: "ask"}} Message
 */

/**
 * @param {(name: string, data: any) => void} onEvent
 * @param {(state: LinkState, sinceMs: number) => void} onLink
 */
export function listen(onEvent, onLink) {
    const channel = "BroadcastChannel" in window ? new BroadcastChannel(NAME) : null;
    let leading = false;
    /** @type {{state: LinkState, since: number}} */
    let link = { state: "connecting", since: Date.now() };

    /** @param {LinkState} state */
    function say(state) {
        if (link.state !== state) link = { state, since: Date.now() };
        onLink(link.state, link.since);
        channel?.postMessage({ kind: "link", ...link });
    }

    /** @param {string} name @param {any} data */
    function pass(name, data) {
        onEvent(name, data);
        channel?.postMessage({ kind: "event", name, data });
    }

    if (channel)
        channel.onmessage = ({ data }) => {
            /** @type {Message} */
            const message = data;
            if (message.kind === "ask") {
                if (leading) channel.postMessage({ kind: "link", ...link });
            } else if (leading) {
                return;
            } else if (message.kind === "link") {
                // A tab that opens in the middle has not heard "hello": the link is enough.
                link = { state: message.state, since: message.since };
                onLink(link.state, link.since);
            } else {
                onEvent(message.name, message.data);
            }
        };

    const lead = () => {
        leading = true;
        stream(say, pass);
    };
    if (channel && navigator.locks) {
        void navigator.locks.request(NAME, () => {
            lead();
            return new Promise(() => {}); // kept until the tab is closed
        });
        channel.postMessage({ kind: "ask" });
    } else {
        lead();
    }
}

/**
 * Keeps an EventSource open. The browser reconnects after a cut by itself, but gives up for
 * good on an answer that is not a stream (a daemon that is just starting, a proxy's error).
 * @param {(state: LinkState) => void} say @param {(name: string, data: any) => void} pass
 */
function stream(say, pass) {
    /** @type {EventSource} */
    let source;
    let heard = Date.now();
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    let retry;

    function open() {
        clearTimeout(retry);
        source = new EventSource("/api/v1/events");
        heard = Date.now();
        source.onopen = () => {
            heard = Date.now();
            say("live");
        };
        source.onerror = () => {
            say("lost");
            if (source.readyState === EventSource.CLOSED) retry = setTimeout(open, RETRY_MS);
        };
        for (const name of ["hello", "readings", "alarm"])
            source.addEventListener(name, (event) => {
                heard = Date.now();
                try {
                    pass(name, JSON.parse(event.data));
                } catch {
                    // A cut in the middle of a message; the next one comes whole.
                }
            });
    }

    function reopen() {
        source.close();
        open();
    }

    async function doubt() {
        if (source.readyState !== EventSource.OPEN || Date.now() - heard < DOUBT_MS) return;
        heard = Date.now();
        const answered = await fetch("/healthz").then(() => true, () => false);
        if (answered) return;
        say("lost");
        reopen();
    }

    window.addEventListener("online", reopen);
    window.addEventListener("pagehide", () => source.close());
    window.addEventListener("pageshow", (event) => event.persisted && reopen());
    setInterval(doubt, 5000);
    open();
}
