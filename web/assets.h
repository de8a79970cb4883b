/* assets.h - the pages' files, embedded in the daemon at build time.
 *
 * path starts with a slash ("/index.html", "/assets/app-XXXXXXXX.js"); a name that holds a
 * digest never changes its content and may be cached for ever, the others must be checked
 * by etag. etag is the header's value, quotes and all. gzip says that data is to be sent
 * with Content-Encoding: gzip; a client that does not take it gets 406 or an inflated copy,
 * as the server likes.
 * Owner:   static; never freed.
 * Threads: constant data; read from any.
 */
#ifndef WEB_ASSETS_H
#define WEB_ASSETS_H

#include <stdbool.h>
#include <stddef.h>

struct web_asset {
    const char *path;
    const char *type; /* Content-Type */
    const char *etag;
    bool gzip;
    const unsigned char *data;
    size_t size; /* of data as embedded, compressed or not */
};

extern const struct web_asset web_assets[];
extern const size_t web_asset_count;

#endif
