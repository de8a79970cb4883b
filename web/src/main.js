import { html, render } from "htm/preact";

render(html`<h1>Stillroom</h1>`, /** @type {HTMLElement} */ (document.getElementById("app")));
