// embed.mjs - files as a C source after assets.h, compressed where that makes them smaller.
import { createHash } from "node:crypto";
import { extname } from "node:path";
import { gzipSync } from "node:zlib";

/** @type {Record<string, string>} */
const TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".svg": "image/svg+xml",
    ".txt": "text/plain; charset=utf-8",
};

/** @param {Uint8Array} data */
function bytes(data) {
    const lines = [];
    for (let i = 0; i < data.length; i += 24)
        lines.push("    " + [...data.subarray(i, i + 24)].join(","));
    return lines.join(",\n");
}

/**
 * @param {{path: string, data: Uint8Array}[]} files
 * @returns {string} C source that defines web_assets and web_asset_count
 */
export function embed(files) {
    const arrays = [];
    const entries = [];
    files.forEach((file, i) => {
        const type = TYPES[extname(file.path)];
        if (!type) throw new Error(`${file.path}: no content type is known for this ending`);
        // The time in a gzip header is left 0 by zlib, so the same files give the same bytes.
        const packed = gzipSync(file.data, { level: 9 });
        const gzip = packed.length < file.data.length;
        const etag = createHash("sha256").update(file.data).digest("hex").slice(0, 16);
        arrays.push(`static const unsigned char asset_${i}[] = {\n${bytes(gzip ? packed : file.data)}};\n`);
        entries.push(
            `    {${JSON.stringify(file.path)}, ${JSON.stringify(type)}, "\\"${etag}\\"", ` +
                `${gzip}, asset_${i}, sizeof asset_${i}},\n`,
        );
    });
    return `/* Made by web/build.mjs from web/src; do not edit. */
#include "assets.h"

${arrays.join("\n")}
const struct web_asset web_assets[] = {
${entries.join("")}};
const size_t web_asset_count = sizeof web_assets / sizeof web_assets[0];
`;
}
