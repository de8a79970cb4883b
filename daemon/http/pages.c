/* pages.c - see pages.h. */
#include "http/pages.h"

#include <ctype.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "assets.h"

static const struct web_asset *asset(const char *path)
{
    for (size_t i = 0; i < web_asset_count; i++)
        if (strcmp(web_assets[i].path, path) == 0)
            return &web_assets[i];
    return NULL;
}

/* Addresses that the page itself tells apart: one segment may follow /zone/. */
static bool is_view(const char *path)
{
    static const char zone[] = "/zone/";
    if (strcmp(path, "/") == 0 || strcmp(path, "/alarms") == 0 ||
        strcmp(path, "/instruments") == 0)
        return true;
    const char *id = path + sizeof zone - 1;
    return strncmp(path, zone, sizeof zone - 1) == 0 && id[0] != '\0' &&
           strchr(id, '/') == NULL;
}

bool pages_have(const char *path)
{
    return is_view(path) || asset(path) != NULL;
}

bool pages_accept_gzip(const char *accept)
{
    if (accept == NULL)
        return true;
    bool any = false;
    while (*accept != '\0') {
        size_t len = strcspn(accept, ",");
        size_t blank = strspn(accept, " \t");
        const char *name = accept + blank;
        size_t name_len = strcspn(name, " \t;,");
        const char *q = memchr(accept, '=', len);
        bool wanted = q == NULL || strtod(q + 1, NULL) > 0;
        if (name_len == 4 && strncasecmp(name, "gzip", 4) == 0)
            return wanted;
        if (name_len == 1 && name[0] == '*')
            any = wanted;
        accept += len + (accept[len] == ',');
    }
    return any;
}

bool pages_etag_matches(const char *if_none_match, const char *etag)
{
    if (if_none_match == NULL)
        return false;
    const char *at = if_none_match + strspn(if_none_match, " \t");
    if (strcmp(at, "*") == 0)
        return true;
    /* A tag is quoted, so its text cannot begin inside another. */
    return strstr(at, etag) != NULL;
}

/* A name that holds a digit carries its content's digest and never changes. */
static bool is_for_ever(const char *path)
{
    return strncmp(path, "/assets/", 8) == 0 && strpbrk(path, "0123456789") != NULL;
}

void pages_get(const struct request *request, struct reply *reply)
{
    const struct web_asset *a = asset(is_view(request->path) ? "/index.html" : request->path);
    if (a == NULL) {
        reply_problem(reply, 404, "there is no such page");
        return;
    }
    if (a->gzip && !pages_accept_gzip(request->accept_encoding)) {
        reply_problem(reply, 406,
                      "this file is kept compressed: allow gzip in Accept-Encoding");
        return;
    }
    reply->type = a->type;
    reply->etag = a->etag;
    reply->encoding = a->gzip ? "gzip" : NULL;
    reply->cache = is_for_ever(a->path) ? "public, max-age=31536000, immutable" : "no-cache";
    bool known = pages_etag_matches(request->if_none_match, a->etag);
    reply->status = known ? 304 : 200;
    reply->fixed = a->data;
    reply->fixed_len = known ? 0 : a->size;
}
