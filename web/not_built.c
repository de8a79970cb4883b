/* not_built.c - the asset list of a build without pages: one page that says so. */
#include "assets.h"

static const char page[] =
    "<!doctype html>\n"
    "<html lang=\"en\">\n"
    "<head>\n"
    "<meta charset=\"utf-8\">\n"
    "<meta name=\"viewport\" content=\"width=device-width\">\n"
    "<title>Stillroom: the pages were not built</title>\n"
    "</head>\n"
    "<body>\n"
    "<h1>The pages were not built</h1>\n"
    "<p>Stillroom is running and records, but this build holds no pages. To have them,\n"
    "install Node.js and npm, configure the build again with -DSTILLROOM_WEB=ON, and build.\n"
    "</p>\n"
    "<p>The figures can be read at <a href=\"/api/v1/zones\">/api/v1/zones</a>; the interface\n"
    "is described at <a href=\"/api/v1/openapi.json\">/api/v1/openapi.json</a>.</p>\n"
    "</body>\n"
    "</html>\n";

const struct web_asset web_assets[] = {
    {.path = "/index.html",
     .type = "text/html; charset=utf-8",
     .etag = "\"not-built-1\"",
     .gzip = false,
     .data = (const unsigned char *)page,
     .size = sizeof page - 1},
};
const size_t web_asset_count = sizeof web_assets / sizeof web_assets[0];
