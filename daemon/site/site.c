/* site.c - reads a site file whole, or tells all that is wrong with it. Contract in site.h. */
#include "site/site.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "site/build.h"

enum {
    FILE_MAX = 512 * 1024, /* some hundreds of instruments fill a tenth of it */
    CHUNK = 4096
};

/* What site_parse gives out, and what it hangs from. */
struct owned {
    struct site site; /* first: site_free gets its address */
    struct arena arena;
};

void site_free(struct site *site)
{
    struct owned *owned = (struct owned *)site;
    if (owned == NULL)
        return;
    buf_free(&owned->site.text);
    arena_free(&owned->arena);
    free(owned);
}

static enum rc build(struct build *b, const char *text, size_t len)
{
    enum rc rc = draft_read(&b->draft, text, len);
    if (rc == RC_OK)
        rc = build_arrays(b);
    if (rc != RC_OK)
        return rc;
    build_recipients(b);
    build_studio(b);
    build_buses(b);
    rc = build_instruments(b);
    if (rc != RC_OK)
        return rc;
    build_zones(b);
    rc = build_limits(b);
    return rc == RC_OK && b->draft.arena->failed ? RC_NOMEM : rc;
}

enum rc site_parse(const char *path, const char *text, size_t len, struct buf *mistakes,
                   struct site **out)
{
    struct mistakes found = {.path = path};
    struct owned *owned = calloc(1, sizeof *owned);
    if (owned == NULL)
        return RC_NOMEM;
    struct build b = {.site = &owned->site};
    b.draft.arena = &owned->arena;
    b.draft.mistakes = &found;

    enum rc rc = RC_OK;
    if (len > FILE_MAX)
        mistakes_add(&found, 1, "file of %zu bytes; allowed: at most %d bytes", len,
                     (int)FILE_MAX);
    else
        rc = build(&b, text, len);
    owned->site.path = arena_str(&owned->arena, path, strlen(path));
    buf_add(&owned->site.text, text, len);
    if (owned->arena.failed || owned->site.text.failed || found.failed)
        rc = RC_NOMEM;
    if (rc == RC_OK && found.count > 0) {
        mistakes_print(&found, mistakes);
        rc = mistakes->failed ? RC_NOMEM : RC_BAD_INPUT;
    }
    mistakes_free(&found);
    if (rc != RC_OK) {
        site_free(&owned->site);
        return rc;
    }
    *out = &owned->site;
    return RC_OK;
}

enum rc site_read(const char *path, struct buf *mistakes, struct site **out)
{
    struct buf text = {0};
    char chunk[CHUNK];
    enum rc rc = RC_OK;
    FILE *f = fopen(path, "rbe");
    if (f == NULL) {
        buf_printf(mistakes, "%s: cannot be read: %s; allowed: a readable file\n", path,
                   strerror(errno));
        return errno == ENOENT ? RC_NOT_FOUND : RC_IO;
    }
    /* One byte more than allowed is enough for site_parse to refuse it. */
    while (text.len <= FILE_MAX) {
        size_t n = fread(chunk, 1, sizeof chunk, f);
        if (n == 0)
            break;
        buf_add(&text, chunk, n);
    }
    if (ferror(f) != 0) {
        buf_printf(mistakes, "%s: cannot be read: %s; allowed: a readable file\n", path,
                   strerror(errno));
        rc = RC_IO;
    }
    (void)fclose(f);
    if (rc == RC_OK && text.failed)
        rc = RC_NOMEM;
    if (rc == RC_OK)
        rc = site_parse(path, text.data != NULL ? text.data : "", text.len, mistakes, out);
    buf_free(&text);
    return rc;
}
