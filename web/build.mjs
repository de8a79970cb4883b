// build.mjs BUILD_FOLDER - bundles web/src into BUILD_FOLDER/site and writes
// BUILD_FOLDER/web_assets.c. Packages are taken from BUILD_FOLDER/node_modules.
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { embed } from "./embed.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const out = resolve(process.argv[2] ?? "build");
const modules = join(out, "node_modules");
const require = createRequire(join(out, "package.json"));
const esbuild = require("esbuild");

/** @param {string | Uint8Array} data */
const digest = (data) => createHash("sha256").update(data).digest("hex").slice(0, 12);

/**
 * Bundles one entry and gives it a name that holds its digest.
 * @param {string} entry @param {string} ending
 */
async function bundle(entry, ending) {
    const result = await esbuild.build({
        entryPoints: [join(here, "src", entry)],
        absWorkingDir: here,
        nodePaths: [modules],
        bundle: true,
        minify: true,
        format: "esm",
        target: ["chrome100", "firefox100", "safari15.4"],
        charset: "utf8",
        legalComments: "none",
        write: false,
        logLevel: "warning",
    });
    const data = result.outputFiles[0].contents;
    return { path: `/assets/app-${digest(data)}.${ending}`, data };
}

/** The licences of what is bundled, as those licences ask. */
function licences() {
    const parts = ["preact", "htm", "uplot"].map((name) => {
        const { version } = JSON.parse(readFileSync(join(modules, name, "package.json"), "utf8"));
        const text = readFileSync(join(modules, name, "LICENSE"), "utf8");
        return `${name} ${version}\n\n${text.trim()}\n`;
    });
    return `The pages contain these libraries, unchanged but for bundling.\n\n${parts.join("\n\n")}`;
}

const script = await bundle("main.js", "js");
const style = await bundle("style.css", "css");
const page = readFileSync(join(here, "src/index.html"), "utf8")
    .replace("/main.js", script.path)
    .replace("/style.css", style.path);

const files = [
    { path: "/index.html", data: Buffer.from(page) },
    script,
    style,
    { path: "/icon.svg", data: readFileSync(join(here, "src/icon.svg")) },
    { path: "/licences.txt", data: Buffer.from(licences()) },
];

const site = join(out, "site");
rmSync(site, { recursive: true, force: true });
for (const file of files) {
    const name = join(site, file.path);
    mkdirSync(dirname(name), { recursive: true });
    writeFileSync(name, file.data);
}
writeFileSync(join(out, "web_assets.c"), embed(files));
