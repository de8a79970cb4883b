/* check_store.c - a whole database against its own signed days (check.h).
 *
 * Signed texts first; then the tables from which charts and reports are made, which an intruder
 * might change instead: what they say now of each closed day must be what was signed of it.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "evidence/check.h"
#include "evidence/check_rollups.h"
#include "evidence/check_tables.h"
#include "evidence/stored.h"
#include "store/series.h"

struct checker {
    const char *path;      /* borrowed */
    struct reader *reader; /* owned */
    struct findings *findings;
    struct chain chain;
    struct check_tables tables;
    struct buf manifest, file;
    char head[SEAL_HEX]; /* digest of the day whose number is written down beside the store */
    long long head_number;
};

/* A file of a channel: what stands beside it must agree with it too. */
static void check_claim(struct checker *c, const char *place, const struct manifest_line *line,
                        const struct archive_claim *claim)
{
    int64_t lines = 0;
    for (size_t i = 0; i < c->file.len; i++)
        lines += c->file.data[i] == '\n';
    if (claim->readings != lines)
        findings_add(c->findings, FINDING_TABLE, place, line->name,
                     "the table day counts %lld readings, it has %lld",
                     (long long)claim->readings, (long long)lines);
    if (memcmp(claim->digest, line->digest, SEAL_DIGEST) != 0)
        findings_add(c->findings, FINDING_TABLE, place, line->name,
                     "the table day has another digest of it");
}

static enum rc check_line(struct checker *c, int64_t day, const char *place,
                          const struct manifest_line *line)
{
    struct archive_claim claim;
    uint32_t channel;
    enum rc rc = stored_file(c->reader, day, line, &c->file, &claim);
    if (rc == RC_NOT_FOUND || rc == RC_CORRUPT) {
        findings_add(c->findings, FINDING_MISSING, place, line->name, "%s",
                     rc == RC_NOT_FOUND ? "it is not there" : "it cannot be inflated");
        return RC_OK;
    }
    if (rc != RC_OK)
        return rc;
    check_file(c->findings, place, line, &c->file);
    if (!manifest_channel(line->name, &channel))
        return RC_OK;
    check_claim(c, place, line, &claim);
    return check_rollups(c->reader, c->findings, place, channel, day, &c->file);
}

static enum rc check_listed(struct checker *c, int64_t day, const char *place)
{
    struct manifest_cursor cursor = manifest_start(&c->manifest);
    struct manifest_line line;
    enum rc rc = RC_OK;
    while (rc == RC_OK && manifest_next(&cursor, &line)) {
        rc = check_tables_used(&c->tables, line.digest);
        if (rc == RC_OK)
            rc = check_line(c, day, place, &line);
    }
    if (cursor.bad)
        findings_add(c->findings, FINDING_FORM, place, "MANIFEST",
                     "a line is not in the format of sha256sum");
    return rc;
}

/* The columns beside the text of a signed day. */
static void check_columns(struct checker *c, const char *place,
                          const struct archive_signed *row, const struct daytext *t)
{
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX] = "";
    if (row->number != t->number)
        findings_add(c->findings, FINDING_TABLE, place, "day.txt",
                     "the table signed_day has it as number %lld", (long long)row->number);
    if (row->manifest.len == SEAL_DIGEST)
        seal_hex(row->manifest.data, hex);
    if (strcmp(hex, t->manifest) != 0)
        findings_add(c->findings, FINDING_TABLE, place, "MANIFEST",
                     "the table signed_day has another digest of it than day.txt");
    seal_sha256(row->text.data, row->text.len, digest);
    if (row->digest.len != SEAL_DIGEST || memcmp(row->digest.data, digest, SEAL_DIGEST) != 0)
        findings_add(c->findings, FINDING_TABLE, place, "day.txt",
                     "the table signed_day has another digest of it");
}

static void note_head(struct checker *c, const struct daytext *t)
{
    if (t->number == c->head_number && strcmp(c->head, c->chain.last_hex) == 0)
        c->head_number = 0; /* met */
}

static enum rc load_manifest(struct checker *c, const char *place,
                             const struct archive_signed *row, const struct daytext *t)
{
    buf_clear(&c->manifest);
    enum rc rc = row->manifest.len == SEAL_DIGEST
                     ? archive_text(c->reader, row->manifest.data, &c->manifest)
                     : RC_NOT_FOUND;
    if (rc == RC_NOT_FOUND || rc == RC_CORRUPT) {
        buf_clear(&c->manifest);
        findings_add(c->findings, FINDING_MISSING, place, "MANIFEST", "%s",
                     rc == RC_NOT_FOUND ? "it is not there" : "it cannot be inflated");
        return RC_OK;
    }
    if (rc == RC_OK) {
        (void)check_manifest(c->findings, place, &c->manifest, t);
        rc = check_tables_used(&c->tables, row->manifest.data);
    }
    return rc;
}

static enum rc check_row(void *context, const struct archive_signed *row)
{
    struct checker *c = context;
    struct daytext t;
    char place[16];
    daytext_date(row->day, place, sizeof place);
    const struct chain_day day = {.place = place,
                                  .text = row->text.data,
                                  .text_len = row->text.len,
                                  .signature = row->signature.data,
                                  .signature_len = row->signature.len};
    if (!chain_read(&c->chain, &day, &t))
        return check_tables_unread(&c->tables, row->day);
    chain_take(&c->chain, &day, &t, row->key.len == SEAL_PUBLIC ? row->key.data : NULL);
    note_head(c, &t);
    check_columns(c, place, row, &t);
    enum rc rc = load_manifest(c, place, row, &t);
    /* What lies under another day, or under none, says nothing of this one. */
    if (rc == RC_OK && t.day != row->day)
        return check_tables_unread(&c->tables, row->day);
    if (rc == RC_OK)
        rc = check_listed(c, row->day, place);
    if (rc == RC_OK)
        rc = check_tables_day(&c->tables, row->day, &c->manifest);
    return rc;
}

/* The head that was written down beside the database, outside of it. */
static void read_head(struct checker *c)
{
    struct buf path = {0};
    buf_printf(&path, "%s.head", c->path);
    FILE *f = path.failed ? NULL : fopen(path.data, "re");
    if (f != NULL) {
        if (fscanf(f, "%lld %64s", &c->head_number, c->head) != 2)
            c->head_number = 0;
        fclose(f);
    }
    buf_free(&path);
}

/* The chain against what else the store knows of itself. */
static void check_whole(struct checker *c, int64_t open_day, int64_t store_id)
{
    char last[16], open[16], id[DAYTEXT_ID];
    snprintf(id, sizeof id, "%016llx", (unsigned long long)store_id);
    daytext_date(c->chain.last.day, last, sizeof last);
    daytext_date(open_day, open, sizeof open);
    if (c->chain.first_number != 1)
        findings_add(c->findings, FINDING_CHAIN, "", "",
                     "the chain begins with number %lld: those before it are left out",
                     (long long)c->chain.first_number);
    if (open_day != c->chain.last.day + 1)
        findings_add(c->findings, FINDING_CHAIN, "", "",
                     "the signed days end with %s, and the store goes on with %s", last, open);
    if (strcmp(id, c->chain.last.store) != 0)
        findings_add(c->findings, FINDING_TABLE, "", "",
                     "the store's id is %s, its signed days say %s", id, c->chain.last.store);
}

static enum rc check_ends(struct checker *c)
{
    int64_t open_day, store_id;
    enum rc rc = archive_open_day(c->reader, &open_day);
    if (rc == RC_OK)
        rc = archive_store_id(c->reader, &store_id);
    if (rc != RC_OK)
        return rc;
    if (c->chain.days > 0)
        check_whole(c, open_day, store_id);
    else if (store_id != 0) /* which is made with the first signed day */
        findings_add(c->findings, FINDING_CHAIN, "", "",
                     "days were signed here, and none is left");
    if (c->head_number != 0)
        findings_add(c->findings, FINDING_CHAIN, "", "",
                     "number %lld with the digest %.16s..., written down beside the store, is "
                     "not in this chain",
                     c->head_number, c->head);
    return RC_OK;
}

static enum rc check_all(struct checker *c)
{
    enum rc rc = archive_begin(c->reader);
    if (rc == RC_OK)
        rc = check_tables_begin(&c->tables, c->reader, c->findings);
    if (rc == RC_OK)
        rc = archive_signed_days(c->reader, INT64_MIN, INT64_MAX, check_row, c);
    chain_end(&c->chain);
    if (rc == RC_OK)
        rc = check_ends(c);
    if (rc == RC_OK)
        rc = check_tables_end(&c->tables);
    archive_end(c->reader);
    return rc;
}

enum rc check_store(const char *path, const struct chain_known *known,
                    struct findings *findings, struct check_seen *out)
{
    struct checker c = {
        .path = path, .findings = findings, .chain = {.findings = findings, .known = known}};
    /* Before the database is looked at: a day that closes meanwhile moves it on. */
    read_head(&c);
    enum rc rc = reader_open(path, &c.reader);
    if (rc == RC_OK)
        rc = check_all(&c);
    check_tables_free(&c.tables);
    reader_close(c.reader);
    buf_free(&c.manifest);
    buf_free(&c.file);
    *out = (struct check_seen){.chain = c.chain};
    return rc;
}
