/* bundle.c - see bundle.h. */
#include "evidence/bundle.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/log.h"
#include "evidence/packing.h"
#include "evidence/stamp.h"
#include "evidence/stored.h"
#include "store/series.h"

struct bundler {
    const struct bundle_order *order;
    struct findings *findings;
    struct facts facts;
    uint8_t keys[CHAIN_KEYS][SEAL_PUBLIC]; /* as facts.keys */
    struct reader *reader;                 /* owned */
    struct packing *packing;               /* owned */
    struct buf manifest, file;
    struct buf channels, before; /* channels.csv of this day and of the one before */
    int64_t before_day;
    bool zone_met;
};

bool bundle_wants(const char *name, const char *zone, const struct buf *channels_csv,
                  const struct buf *before_csv)
{
    uint32_t channel;
    if (zone == NULL)
        return true;
    if (manifest_channel(name, &channel))
        return manifest_in_zone(channels_csv, channel, zone) ||
               (before_csv != NULL && manifest_in_zone(before_csv, channel, zone));
    return strcmp(name, store_listing_name[LISTING_CHANNELS]) == 0 ||
           strcmp(name, store_listing_name[LISTING_GAPS]) == 0 ||
           strcmp(name, store_listing_name[LISTING_LATE]) == 0 ||
           strcmp(name, store_listing_name[LISTING_CLOCK]) == 0;
}

/* A code that means damage, not that the system refused. */
static bool is_damage(enum rc rc)
{
    return rc == RC_NOT_FOUND || rc == RC_CORRUPT;
}

static enum rc meet_key(struct bundler *b, const struct archive_signed *day, const char *place)
{
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX];
    if (day->key.len != SEAL_PUBLIC) {
        findings_add(b->findings, FINDING_KEY, place, "day.sig",
                     "the store has lost the public key of this day");
        return RC_OK;
    }
    seal_sha256(day->key.data, day->key.len, digest);
    seal_hex(digest, hex);
    for (size_t i = 0; i < b->facts.key_count; i++)
        if (strcmp(b->facts.keys[i], hex) == 0)
            return RC_OK;
    if (b->facts.key_count == CHAIN_KEYS) {
        log_err("more than %d keys signed these days; take fewer days", CHAIN_KEYS);
        return RC_BAD_INPUT;
    }
    memcpy(b->keys[b->facts.key_count], day->key.data, SEAL_PUBLIC);
    memcpy(b->facts.keys[b->facts.key_count++], hex, SEAL_HEX);
    return RC_OK;
}

/* First pass: which days, which keys, whether the zone is known. */
static enum rc count_day(void *context, const struct archive_signed *day)
{
    struct bundler *b = context;
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX], place[16];
    clock_day_text(day->day, place, sizeof place);
    seal_sha256(day->text.data, day->text.len, digest);
    seal_hex(digest, hex);
    enum rc rc = facts_add_day(&b->facts, day->day, day->number, hex);
    if (rc == RC_OK)
        rc = meet_key(b, day, place);
    if (rc != RC_OK || b->order->zone == NULL || b->zone_met ||
        day->manifest.len != SEAL_DIGEST)
        return rc;
    rc = archive_text(b->reader, day->manifest.data, &b->manifest);
    if (rc == RC_OK)
        rc = stored_listed(b->reader, day->day, &b->manifest,
                           store_listing_name[LISTING_CHANNELS], &b->channels);
    if (rc == RC_OK)
        b->zone_met = manifest_zone_known(&b->channels, b->order->zone);
    return is_damage(rc) ? RC_OK : rc;
}

static enum rc pack_in(struct bundler *b, const char *place, const char *name, const void *data,
                       size_t len)
{
    char path[16 + MANIFEST_NAME];
    snprintf(path, sizeof path, "%s/%s", place, name);
    return packing_add(b->packing, path, data, len);
}

static enum rc pack_line(struct bundler *b, int64_t day, const char *place,
                         const struct manifest_line *line)
{
    struct archive_claim claim;
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = stored_file(b->reader, day, line, &b->file, &claim);
    if (is_damage(rc)) {
        findings_add(b->findings, FINDING_MISSING, place, line->name,
                     "MANIFEST names it, and the store has %s",
                     rc == RC_NOT_FOUND ? "it no longer" : "only a damaged one");
        return RC_OK;
    }
    if (rc != RC_OK)
        return rc;
    seal_sha256(b->file.data, b->file.len, digest);
    if (memcmp(digest, line->digest, SEAL_DIGEST) != 0)
        findings_add(b->findings, FINDING_FILE, place, line->name,
                     "it is not what was signed: its SHA-256 is another than in MANIFEST");
    return pack_in(b, place, line->name, b->file.data, b->file.len);
}

static enum rc pack_files(struct bundler *b, int64_t day, const char *place)
{
    const struct buf *before = b->before_day == day - 1 ? &b->before : NULL;
    struct manifest_cursor c = manifest_start(&b->manifest);
    struct manifest_line line;
    const char *first = c.at;
    enum rc rc = RC_OK;
    for (;;) {
        const struct buf so_far = {.data = b->manifest.data, .len = (size_t)(c.at - first)};
        if (rc != RC_OK || !manifest_next(&c, &line))
            break;
        /* A site file that came back within the day is named twice. */
        if (bundle_wants(line.name, b->order->zone, &b->channels, before) &&
            strchr(line.name, '/') == NULL && !manifest_names(&so_far, line.name))
            rc = pack_line(b, day, place, &line);
    }
    if (c.bad)
        findings_add(b->findings, FINDING_FORM, place, "MANIFEST",
                     "a line is not in the format of sha256sum");
    return rc;
}

/* The MANIFEST and channels.csv of a day into the buffers. */
static enum rc load_day(struct bundler *b, const struct archive_signed *day, const char *place)
{
    buf_clear(&b->manifest);
    buf_clear(&b->channels);
    enum rc rc = day->manifest.len == SEAL_DIGEST
                     ? archive_text(b->reader, day->manifest.data, &b->manifest)
                     : RC_NOT_FOUND;
    if (is_damage(rc)) {
        buf_clear(&b->manifest);
        if (day->day >= b->order->from)
            findings_add(b->findings, FINDING_MISSING, place, "MANIFEST",
                         "the store has it no longer, or damaged");
        return RC_OK;
    }
    if (rc == RC_OK)
        rc = stored_listed(b->reader, day->day, &b->manifest,
                           store_listing_name[LISTING_CHANNELS], &b->channels);
    return is_damage(rc) ? RC_OK : rc;
}

static enum rc pack_day(void *context, const struct archive_signed *day)
{
    struct bundler *b = context;
    char place[16];
    clock_day_text(day->day, place, sizeof place);
    enum rc rc = load_day(b, day, place);
    if (rc == RC_OK && day->day >= b->order->from) {
        rc = pack_in(b, place, "day.txt", day->text.data, day->text.len);
        if (rc == RC_OK)
            rc = pack_in(b, place, "day.sig", day->signature.data, day->signature.len);
        if (rc == RC_OK)
            rc = pack_in(b, place, "MANIFEST", b->manifest.data, b->manifest.len);
        if (rc == RC_OK)
            rc = pack_files(b, day->day, place);
    }
    struct buf last = b->before;
    b->before = b->channels;
    b->channels = last;
    b->before_day = day->day;
    return rc;
}

static enum rc pack_keys(struct bundler *b)
{
    char pem[128], name[32];
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < b->facts.key_count; i++) {
        seal_key_pem(b->keys[i], pem, sizeof pem);
        if (i + 1 == b->facts.key_count)
            rc = packing_add(b->packing, "key.pem", pem, strlen(pem));
        snprintf(name, sizeof name, "key-%.16s.pem", b->facts.keys[i]);
        if (rc == RC_OK && b->facts.key_count > 1)
            rc = packing_add(b->packing, name, pem, strlen(pem));
    }
    return rc;
}

/* What lies beside the folders of the days. */
static enum rc pack_top(struct bundler *b)
{
    struct buf text = {0}, request = {0};
    enum rc rc = RC_OK;
    if (b->order->stamp)
        rc = stamp_request(b->facts.days[b->facts.count - 1].digest, &request);
    b->facts.stamped = b->order->stamp;
    facts_words(&b->facts, &text);
    if (rc == RC_OK)
        rc =
            text.failed ? RC_NOMEM : packing_add(b->packing, "VERIFY.txt", text.data, text.len);
    buf_clear(&text);
    facts_json(&b->facts, &text);
    if (rc == RC_OK)
        rc = text.failed ? RC_NOMEM
                         : packing_add(b->packing, "bundle.json", text.data, text.len);
    if (rc == RC_OK)
        rc = pack_keys(b);
    if (rc == RC_OK && b->order->stamp)
        rc = packing_add(b->packing, "head.tsq", request.data, request.len);
    buf_free(&text);
    buf_free(&request);
    return rc;
}

static enum rc count_days(struct bundler *b)
{
    enum rc rc = archive_signed_days(b->reader, b->order->from, b->order->to, count_day, b);
    if (rc == RC_OK && (b->facts.count == 0 || b->facts.key_count == 0)) {
        log_err("none of these days is signed: a day is closed and signed shortly after its "
                "end (UTC)");
        rc = RC_NOT_FOUND;
    } else if (rc == RC_OK && b->order->zone != NULL && !b->zone_met) {
        log_err("no instrument stood in a zone \"%s\" at the end of any of these days",
                b->order->zone);
        rc = RC_NOT_FOUND;
    }
    return rc;
}

static enum rc bundle_all(struct bundler *b)
{
    const struct bundle_order *order = b->order;
    b->facts.studio = strdup(order->studio);
    b->facts.zone = order->zone == NULL ? NULL : strdup(order->zone);
    b->facts.asked_from = order->from;
    b->facts.asked_to = order->to;
    if (b->facts.studio == NULL || (b->facts.zone == NULL) != (order->zone == NULL))
        return RC_NOMEM;
    enum rc rc = archive_begin(b->reader);
    if (rc == RC_OK)
        rc = count_days(b);
    if (rc == RC_OK)
        rc = packing_begin(
            order->out, (b->facts.days[b->facts.count - 1].day + 1) * CLOCK_DAY_S, &b->packing);
    if (rc == RC_OK)
        rc = pack_top(b);
    if (rc == RC_OK)
        rc = archive_signed_days(b->reader, order->from - 1, order->to, pack_day, b);
    if (rc == RC_OK)
        rc = packing_end(b->packing);
    archive_end(b->reader);
    return rc;
}

enum rc bundle_write(const struct bundle_order *order, struct findings *findings,
                     struct facts *out_facts)
{
    struct bundler b = {.order = order, .findings = findings, .before_day = INT64_MIN};
    enum rc rc = reader_open(order->store_path, &b.reader);
    if (rc == RC_OK)
        rc = bundle_all(&b);
    packing_free(b.packing);
    reader_close(b.reader);
    buf_free(&b.manifest);
    buf_free(&b.file);
    buf_free(&b.channels);
    buf_free(&b.before);
    if (rc == RC_OK)
        *out_facts = b.facts;
    else
        facts_free(&b.facts);
    return rc;
}
