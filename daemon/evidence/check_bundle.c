/* check_bundle.c - a bundle that came back from outside (check.h). */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/log.h"
#include "evidence/box.h"
#include "evidence/bundle.h"
#include "evidence/check.h"
#include "evidence/manifest.h"
#include "store/store.h"

struct checker {
    struct box *box; /* owned */
    struct findings *findings;
    struct chain chain;
    struct facts facts;                    /* as made anew from what was found */
    bool has_facts;                        /* bundle.json could be read */
    uint8_t keys[CHAIN_KEYS][SEAL_PUBLIC]; /* of all key files */
    size_t key_count;
    struct buf text, manifest, channels, file;
};

/* Reads a file of a day; a finding if that cannot be done. */
static bool read_of_day(struct checker *c, const char *place, const char *name, struct buf *out)
{
    char path[16 + MANIFEST_NAME];
    snprintf(path, sizeof path, "%s/%s", place, name);
    enum rc rc = box_read(c->box, path, out);
    if (rc != RC_OK)
        findings_add(c->findings, FINDING_MISSING, place, name, "%s",
                     rc == RC_NOT_FOUND ? "it is not there" : "it cannot be read as a file");
    return rc == RC_OK;
}

static void load_key(struct checker *c, const char *name)
{
    uint8_t key[SEAL_PUBLIC];
    if (box_read(c->box, name, &c->file) != RC_OK ||
        seal_key_from_pem(c->file.data, c->file.len, key) != RC_OK) {
        findings_add(c->findings, FINDING_FORM, "", name,
                     "this is not the PEM of an Ed25519 public key as bundles have it");
        return;
    }
    char id[DAYTEXT_ID], want[32];
    seal_key_id(key, id);
    snprintf(want, sizeof want, "key-%s.pem", id);
    if (strcmp(name, "key.pem") != 0 && strcmp(name, want) != 0)
        findings_add(c->findings, FINDING_KEY, "", name, "it holds the key %s", id);
    if (c->key_count < CHAIN_KEYS)
        memcpy(c->keys[c->key_count++], key, SEAL_PUBLIC);
}

static bool is_key_file(const char *name)
{
    size_t len = strlen(name);
    return strcmp(name, "key.pem") == 0 ||
           (len == 24 && strncmp(name, "key-", 4) == 0 && strcmp(name + 20, ".pem") == 0);
}

static void load_keys(struct checker *c)
{
    for (size_t i = 0; i < box_count(c->box); i++)
        if (is_key_file(box_name(c->box, i)))
            load_key(c, box_name(c->box, i));
    if (!box_has(c->box, "key.pem"))
        findings_add(c->findings, FINDING_MISSING, "", "key.pem", "it is not there");
}

/* Each key that is here must have signed a day that is here, and key.pem the last one. */
static void check_key(struct checker *c, const char *name)
{
    uint8_t key[SEAL_PUBLIC], digest[SEAL_DIGEST];
    char hex[SEAL_HEX];
    if (c->chain.days == 0 || box_read(c->box, name, &c->file) != RC_OK ||
        seal_key_from_pem(c->file.data, c->file.len, key) != RC_OK)
        return;
    seal_sha256(key, sizeof key, digest);
    seal_hex(digest, hex);
    bool met = false;
    for (size_t i = 0; i < c->chain.key_count; i++)
        met = met || strcmp(c->chain.keys[i], hex) == 0;
    if (!met)
        findings_add(c->findings, FINDING_KEY, "", name, "no day here names its key, %.16s",
                     hex);
    else if (strcmp(name, "key.pem") == 0 && strncmp(hex, c->chain.last.key, 16) != 0)
        findings_add(c->findings, FINDING_KEY, "", name,
                     "the last day names another key than %.16s", hex);
}

static void check_keys(struct checker *c)
{
    for (size_t i = 0; i < box_count(c->box); i++)
        if (is_key_file(box_name(c->box, i)))
            check_key(c, box_name(c->box, i));
}

static const uint8_t *key_by_id(const struct checker *c, const char *id)
{
    char have[DAYTEXT_ID];
    for (size_t i = 0; i < c->key_count; i++) {
        seal_key_id(c->keys[i], have);
        if (strcmp(have, id) == 0)
            return c->keys[i];
    }
    return NULL;
}

/* One line of SHA256SUMS; `seen` has a flag for each file of the box. */
static void check_sum(struct checker *c, const struct manifest_line *line, bool *seen)
{
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = box_read(c->box, line->name, &c->file);
    if (rc != RC_OK) {
        findings_add(c->findings, FINDING_MISSING, "", line->name,
                     "SHA256SUMS names it, and it is not there");
        return;
    }
    seen[box_index(c->box, line->name)] = true;
    seal_sha256(c->file.data == NULL ? "" : c->file.data, c->file.len, digest);
    if (memcmp(digest, line->digest, SEAL_DIGEST) != 0)
        findings_add(c->findings, FINDING_FILE, "", line->name,
                     "its SHA-256 is not the one in SHA256SUMS");
}

/* SHA256SUMS is not signed: it finds accidents in what nothing else vouches for. */
static enum rc check_sums(struct checker *c)
{
    struct buf sums = {0};
    struct manifest_line line;
    bool *seen = calloc(box_count(c->box) + 1, sizeof *seen);
    if (seen == NULL)
        return RC_NOMEM;
    if (box_read(c->box, "SHA256SUMS", &sums) != RC_OK)
        findings_add(c->findings, FINDING_MISSING, "", "SHA256SUMS", "it is not there");
    struct manifest_cursor cursor = manifest_start(&sums);
    while (manifest_next(&cursor, &line))
        check_sum(c, &line, seen);
    if (cursor.bad)
        findings_add(c->findings, FINDING_FORM, "", "SHA256SUMS",
                     "a line is not in the format of sha256sum");
    for (size_t i = 0; i < box_count(c->box); i++) {
        const char *name = box_name(c->box, i);
        if (sums.len > 0 && !seen[i] && strcmp(name, "SHA256SUMS") != 0 &&
            strcmp(name, "head.tsr") != 0)
            findings_add(c->findings, FINDING_EXTRA, "", name, "SHA256SUMS does not name it");
    }
    free(seen);
    buf_free(&sums);
    return RC_OK;
}

static void check_listed(struct checker *c, const char *place)
{
    struct manifest_cursor cursor = manifest_start(&c->manifest);
    struct manifest_line line;
    const char *zone = c->has_facts ? c->facts.zone : NULL;
    buf_clear(&c->channels);
    if (zone != NULL)
        (void)read_of_day(c, place, store_listing_name[LISTING_CHANNELS], &c->channels);
    while (manifest_next(&cursor, &line)) {
        char path[16 + MANIFEST_NAME];
        snprintf(path, sizeof path, "%s/%s", place, line.name);
        if (zone != NULL && !box_has(c->box, path) &&
            !bundle_wants(line.name, zone, &c->channels, NULL))
            continue; /* left out, as a bundle of one zone may */
        if (read_of_day(c, place, line.name, &c->file))
            check_file(c->findings, place, &line, &c->file);
    }
    if (cursor.bad)
        findings_add(c->findings, FINDING_FORM, place, "MANIFEST",
                     "a line is not in the format of sha256sum");
}

/* Files in a day's folder, from index `first` on, that its MANIFEST does not name. */
static void check_strangers(struct checker *c, const char *place, size_t first)
{
    size_t len = strlen(place);
    for (size_t i = first; i < box_count(c->box); i++) {
        const char *name = box_name(c->box, i);
        if (strncmp(name, place, len) != 0 || name[len] != '/')
            return;
        name += len + 1;
        if (strcmp(name, "day.txt") != 0 && strcmp(name, "day.sig") != 0 &&
            strcmp(name, "MANIFEST") != 0 && !manifest_names(&c->manifest, name))
            findings_add(c->findings, FINDING_EXTRA, place, name,
                         "its MANIFEST does not name it");
    }
}

static enum rc check_day(struct checker *c, const char *place, size_t first)
{
    struct daytext t;
    enum rc rc = RC_OK;
    bool read = read_of_day(c, place, "day.txt", &c->text);
    struct chain_day day = {.place = place,
                            .text = c->text.data == NULL ? "" : c->text.data,
                            .text_len = c->text.len};
    read = read && chain_read(&c->chain, &day, &t);
    if (read && read_of_day(c, place, "day.sig", &c->file)) {
        day.signature = c->file.data;
        day.signature_len = c->file.len;
        chain_take(&c->chain, &day, &t, key_by_id(c, t.key));
        rc = facts_add_day(&c->facts, t.day, t.number, c->chain.last_hex);
    }
    buf_clear(&c->manifest);
    if (read_of_day(c, place, "MANIFEST", &c->manifest) && read)
        (void)check_manifest(c->findings, place, &c->manifest, &t);
    check_listed(c, place);
    check_strangers(c, place, first);
    return rc;
}

static enum rc check_days(struct checker *c)
{
    char place[16] = "";
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < box_count(c->box); i++) {
        const char *name = box_name(c->box, i), *slash = strchr(name, '/');
        int64_t day;
        if (slash == NULL || !facts_is_day(name, (size_t)(slash - name), &day) ||
            strncmp(place, name, 11) == 0)
            continue;
        snprintf(place, sizeof place, "%.10s/", name);
        char folder[16];
        snprintf(folder, sizeof folder, "%.10s", name);
        rc = check_day(c, folder, i);
    }
    return rc;
}

/* One of the two texts that follow from the rest. */
static void check_made(struct checker *c, const char *name,
                       void (*make)(const struct facts *f, struct buf *out))
{
    struct buf again = {0};
    make(&c->facts, &again);
    enum rc rc = box_read(c->box, name, &c->file);
    if (rc != RC_OK)
        findings_add(c->findings, FINDING_MISSING, "", name, "it is not there");
    else if (again.failed || again.len != c->file.len ||
             memcmp(again.data, c->file.data, again.len) != 0)
        findings_add(c->findings, FINDING_FILE, "", name,
                     "it is not what a bundle of these days says; trust another copy");
    buf_free(&again);
}

static void check_facts(struct checker *c)
{
    memcpy(c->facts.keys, c->chain.keys, sizeof c->facts.keys);
    c->facts.key_count = c->chain.key_count;
    c->facts.stamped = box_has(c->box, "head.tsq");
    if (!c->has_facts || c->facts.count == 0 || c->facts.key_count == 0)
        return;
    check_made(c, "bundle.json", facts_json);
    check_made(c, "VERIFY.txt", facts_words);
}

/* What lies in no day's folder and is none of the files that a bundle has. */
static void check_top(struct checker *c)
{
    static const char *const known[] = {"SHA256SUMS", "VERIFY.txt", "bundle.json", "head.tsq",
                                        "head.tsr"};
    for (size_t i = 0; i < box_count(c->box); i++) {
        const char *name = box_name(c->box, i), *slash = strchr(name, '/');
        int64_t day;
        bool good = slash == NULL ? is_key_file(name)
                                  : facts_is_day(name, (size_t)(slash - name), &day);
        for (size_t k = 0; k < sizeof known / sizeof *known; k++)
            good = good || strcmp(name, known[k]) == 0;
        if (!good)
            findings_add(c->findings, FINDING_EXTRA, "", name, "no bundle has such a file");
    }
}

static enum rc check_all(struct checker *c)
{
    enum rc rc = box_read(c->box, "bundle.json", &c->file);
    if (rc == RC_OK)
        rc = facts_read(&c->file, &c->facts);
    if (rc == RC_NEWER) {
        log_err("a newer version made this bundle; follow its VERIFY.txt, or use that version");
        return rc;
    }
    c->has_facts = rc == RC_OK;
    if (!c->has_facts)
        findings_add(c->findings, FINDING_FORM, "", "bundle.json",
                     "it is not there, or not the list of a bundle, format %d", FACTS_FORMAT);
    rc = check_sums(c);
    load_keys(c);
    if (rc == RC_OK)
        rc = check_days(c);
    chain_end(&c->chain);
    check_keys(c);
    check_facts(c);
    check_top(c);
    if (rc == RC_OK && c->chain.days == 0)
        findings_add(c->findings, FINDING_MISSING, "", "", "there is no signed day in it");
    return rc;
}

enum rc check_bundle(const char *path, const struct chain_known *known,
                     struct findings *findings, struct check_seen *out)
{
    struct checker c = {.findings = findings, .chain = {.findings = findings, .known = known}};
    enum rc rc = box_open(path, findings, &c.box);
    if (rc == RC_OK)
        rc = check_all(&c);
    *out = (struct check_seen){.chain = c.chain};
    if (c.facts.zone != NULL)
        snprintf(out->zone, sizeof out->zone, "%s", c.facts.zone);
    box_close(c.box);
    facts_free(&c.facts);
    buf_free(&c.text);
    buf_free(&c.manifest);
    buf_free(&c.channels);
    buf_free(&c.file);
    return rc;
}
