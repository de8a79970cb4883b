// main.js - begins the pages.
import { html, render } from "htm/preact";
import { App } from "./app.js";
import { start } from "./store.js";

/* A page drawn before the first answer would be drawn again at once, and all of it would jump. */
const PATIENCE_MS = 400;

const patience = new Promise((done) => setTimeout(done, PATIENCE_MS));
void Promise.race([start(), patience]).then(() => {
    render(html`<${App} />`, /** @type {HTMLElement} */ (document.getElementById("app")));
});
