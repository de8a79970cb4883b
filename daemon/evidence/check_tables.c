/* check_tables.c - see check_tables.h. */
#include "evidence/check_tables.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "evidence/daytext.h"
#include "evidence/manifest.h"
#include "evidence/stored.h"

static void keep_file(void *context, int64_t day, int64_t channel)
{
    struct check_tables *t = context;
    if (t->file_count == t->file_cap) {
        size_t cap = t->file_cap == 0 ? 1024 : 2 * t->file_cap;
        struct check_day_file *more = realloc(t->files, cap * sizeof *more);
        if (more == NULL) {
            t->rc = RC_NOMEM;
            return;
        }
        t->files = more;
        t->file_cap = cap;
    }
    t->files[t->file_count++] = (struct check_day_file){.day = day, .channel = channel};
}

enum rc check_tables_begin(struct check_tables *t, struct reader *reader,
                           struct findings *findings)
{
    *t = (struct check_tables){.reader = reader, .findings = findings};
    enum rc rc = archive_day_files(reader, keep_file, t);
    return rc == RC_OK ? t->rc : rc;
}

void check_tables_free(struct check_tables *t)
{
    free(t->files);
    free(t->used);
    buf_free(&t->now);
    buf_free(&t->then);
}

enum rc check_tables_used(struct check_tables *t, const uint8_t digest[SEAL_DIGEST])
{
    if (t->used_count == t->used_cap) {
        size_t cap = t->used_cap == 0 ? 1024 : 2 * t->used_cap;
        void *more = realloc(t->used, cap * sizeof *t->used);
        if (more == NULL)
            return RC_NOMEM;
        t->used = more;
        t->used_cap = cap;
    }
    memcpy(t->used[t->used_count++], digest, SEAL_DIGEST);
    return RC_OK;
}

/* The line in which two texts first differ, counted from 1, and those lines. */
static void first_difference(const struct buf *a, const struct buf *b, int *out_line,
                             const char **out_a, const char **out_b)
{
    size_t at = 0, line = 0;
    *out_line = 1;
    while (at < a->len && at < b->len && a->data[at] == b->data[at]) {
        if (a->data[at] == '\n') {
            line = at + 1;
            ++*out_line;
        }
        at++;
    }
    *out_a = line < a->len ? a->data + line : "";
    *out_b = line < b->len ? b->data + line : "";
}

static int line_len(const char *line)
{
    size_t len = strcspn(line, "\n");
    return len > 100 ? 100 : (int)len;
}

/* Channels that came later stand behind those that were signed: theirs are other days. */
static bool agrees(enum store_listing kind, const struct buf *then, const struct buf *now)
{
    return (now->len == then->len || (kind == LISTING_CHANNELS && now->len > then->len)) &&
           (then->len == 0 || memcmp(now->data, then->data, then->len) == 0);
}

static enum rc check_listing(struct check_tables *t, enum store_listing kind, int64_t day,
                             const char *place, const struct buf *manifest)
{
    buf_clear(&t->then);
    enum rc rc = stored_listed(t->reader, day, manifest, store_listing_name[kind], &t->then);
    if (rc == RC_CORRUPT ||
        (rc == RC_NOT_FOUND && manifest_names(manifest, store_listing_name[kind])))
        return RC_OK; /* told as a damaged or missing file */
    if (rc == RC_OK || rc == RC_NOT_FOUND)
        rc = archive_listing(t->reader, kind, day, &t->now);
    if (rc != RC_OK || agrees(kind, &t->then, &t->now))
        return rc;
    int line;
    const char *was, *is;
    first_difference(&t->then, &t->now, &line, &was, &is);
    findings_add(t->findings, FINDING_TABLE, place, store_listing_name[kind],
                 "the tables do not say what was signed: line %d was \"%.*s\", is \"%.*s\"",
                 line, line_len(was), was, line_len(is), is);
    return RC_OK;
}

/* Day files of the days before `day` that no signed day has taken. */
static void check_unsigned(struct check_tables *t, int64_t day)
{
    for (; t->file_at < t->file_count && t->files[t->file_at].day < day; t->file_at++) {
        const struct check_day_file *f = &t->files[t->file_at];
        char place[16], name[48];
        daytext_date(f->day, place, sizeof place);
        snprintf(name, sizeof name, "channel-%" PRId64 ".csv", f->channel);
        findings_add(t->findings, FINDING_EXTRA, place, name, "this day was not signed");
    }
}

/* Day files of a signed day that its MANIFEST does not name. */
static void check_files(struct check_tables *t, int64_t day, const char *place,
                        const struct buf *manifest)
{
    check_unsigned(t, day);
    for (; t->file_at < t->file_count && t->files[t->file_at].day == day; t->file_at++) {
        char name[48];
        snprintf(name, sizeof name, "channel-%" PRId64 ".csv", t->files[t->file_at].channel);
        if (!manifest_names(manifest, name))
            findings_add(t->findings, FINDING_EXTRA, place, name,
                         "its MANIFEST does not name it");
    }
}

/* The lines of site files that a MANIFEST should have by the tables. */
struct site_lines {
    const struct buf *manifest;
    struct findings *findings;
    const char *place;
    size_t count;
};

static void check_site_file(void *context, const uint8_t *digest)
{
    struct site_lines *s = context;
    char hex[SEAL_HEX], name[32];
    seal_hex(digest, hex);
    snprintf(name, sizeof name, "site-%.8s.ini", hex);
    s->count++;
    if (!manifest_names(s->manifest, name))
        findings_add(s->findings, FINDING_TABLE, s->place, name,
                     "the table site_file has it in force, and it was not signed");
}

static enum rc check_site_files(struct check_tables *t, int64_t day, const char *place,
                                const struct buf *manifest)
{
    struct site_lines s = {.manifest = manifest, .findings = t->findings, .place = place};
    enum rc rc = archive_site_files(t->reader, day, check_site_file, &s);
    struct manifest_cursor c = manifest_start(manifest);
    struct manifest_line line;
    size_t listed = 0;
    while (manifest_next(&c, &line))
        listed += strncmp(line.name, "site-", 5) == 0;
    if (rc == RC_OK && listed > s.count)
        findings_add(t->findings, FINDING_TABLE, place, "site-*.ini",
                     "%zu site files were signed as in force, the table site_file has %zu",
                     listed, s.count);
    return rc;
}

enum rc check_tables_day(struct check_tables *t, int64_t day, const struct buf *manifest)
{
    char place[16];
    daytext_date(day, place, sizeof place);
    check_files(t, day, place, manifest);
    enum rc rc = check_site_files(t, day, place, manifest);
    for (int kind = 0; rc == RC_OK && kind < LISTING_COUNT; kind++)
        rc = check_listing(t, (enum store_listing)kind, day, place, manifest);
    return rc;
}

enum rc check_tables_unread(struct check_tables *t, int64_t day)
{
    while (t->file_at < t->file_count && t->files[t->file_at].day <= day)
        t->file_at++;
    return RC_OK;
}

static int by_digest(const void *a, const void *b)
{
    return memcmp(a, b, SEAL_DIGEST);
}

static void check_text(void *context, const struct archive_bytes *digest)
{
    struct check_tables *t = context;
    char hex[SEAL_HEX] = "a strange key";
    if (digest->len == SEAL_DIGEST && t->used_count > 0 &&
        bsearch(digest->data, t->used, t->used_count, sizeof *t->used, by_digest) != NULL)
        return;
    if (digest->len == SEAL_DIGEST)
        seal_hex(digest->data, hex);
    findings_add(t->findings, FINDING_EXTRA, "", "", "no signed day names the text %.16s...",
                 hex);
}

enum rc check_tables_end(struct check_tables *t)
{
    int64_t open_day, late;
    enum rc rc = archive_open_day(t->reader, &open_day);
    if (rc == RC_OK)
        rc = archive_late_unsigned(t->reader, &late);
    if (rc != RC_OK)
        return rc;
    /* Those of the open day may be there: a closing that was cut short begins anew. */
    check_unsigned(t, open_day);
    if (late > 0)
        findings_add(t->findings, FINDING_EXTRA, "", "",
                     "%lld late readings came on days that were not signed", (long long)late);
    if (t->used_count > 1)
        qsort(t->used, t->used_count, sizeof *t->used, by_digest);
    return archive_texts(t->reader, check_text, t);
}
