/* sign.c - see sign.h. */
#include "evidence/sign.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/log.h"
#include "evidence/daytext.h"

void sign_manifest_line(struct buf *manifest, const uint8_t digest[SEAL_DIGEST],
                        const char *name)
{
    char hex[SEAL_HEX];
    seal_hex(digest, hex);
    buf_printf(manifest, "%s  %s\n", hex, name);
}

/* The id of a database, made at its first signed day. */
static enum rc store_id(struct store *store, int64_t *out)
{
    enum rc rc = store_meta_get(store, "store_id", 0, out);
    if (rc != RC_OK || *out != 0)
        return rc;
    seal_random(out, sizeof *out);
    return store_meta_put(store, "store_id", *out);
}

struct head {
    long long number;
    char digest[SEAL_HEX];
};

static bool head_read(const char *path, struct head *out)
{
    FILE *f = fopen(path, "re");
    if (f == NULL)
        return false;
    bool ok = fscanf(f, "%lld %64s", &out->number, out->digest) == 2;
    fclose(f);
    return ok;
}

/* Whether the head written down last is one of this chain. It may be an older one: the program
 * can end between the signed day and the writing down of its head. */
static enum rc head_known(struct store *store, const struct head *head, bool *out)
{
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX];
    enum rc rc = store_signed_digest(store, head->number, digest);
    if (rc != RC_OK && rc != RC_NOT_FOUND)
        return rc;
    if (rc == RC_OK)
        seal_hex(digest, hex);
    *out = rc == RC_OK && strcmp(head->digest, hex) == 0;
    return RC_OK;
}

/* Words for a chain that does not simply go on. */
static enum rc note(struct store *store, const struct sign_place *place, int64_t number,
                    int64_t last_day, int64_t day, struct buf *text)
{
    struct head head;
    bool known = true;
    if (number > 1 && last_day + 1 != day) {
        char after[16];
        clock_day_text(last_day, after, sizeof after);
        buf_printf(text, "note break: no signed days between %s and this one\n", after);
    }
    enum rc rc = RC_OK;
    if (head_read(place->head_path, &head))
        rc = head_known(store, &head, &known);
    if (!known)
        buf_printf(text,
                   "note fork: this studio had signed up to number %lld (%s) before this "
                   "database was put in its place\n",
                   head.number, head.digest);
    return rc;
}

/* The text of the day that comes after the last one signed. */
static enum rc compose(struct store *store, const struct sign_place *place, int64_t day,
                       struct store_signed_day *d, struct buf *text)
{
    struct daytext t = {.day = day, .previous = "none"};
    struct buf notes = {0};
    int64_t id, last_number, last_day = 0;
    uint8_t last_digest[SEAL_DIGEST];
    enum rc rc = store_id(store, &id);
    if (rc == RC_OK)
        rc = store_signed_last(store, &last_number, &last_day, last_digest);
    if (rc == RC_OK)
        rc = note(store, place, last_number + 1, last_day, day, &notes);
    if (rc == RC_OK) {
        t.number = d->number = last_number + 1;
        t.notes = notes.data;
        t.notes_len = notes.len;
        seal_hex(d->manifest, t.manifest);
        if (t.number > 1)
            seal_hex(last_digest, t.previous);
        snprintf(t.store, sizeof t.store, "%016llx", (unsigned long long)id);
        seal_key_id(place->key->public_key, t.key);
        daytext_write(&t, text);
        rc = notes.failed || text->failed ? RC_NOMEM : RC_OK;
    }
    buf_free(&notes);
    return rc;
}

enum rc sign_day(struct store *store, const struct sign_place *place, int64_t day,
                 const struct buf *manifest)
{
    struct store_signed_day d = {.day = day};
    struct buf text = {0};
    enum rc rc = store_text_put(store, manifest->data, manifest->len, d.manifest);
    if (rc == RC_OK)
        rc = compose(store, place, day, &d, &text);
    if (rc == RC_OK) {
        seal_sign(place->key, text.data, text.len, d.signature);
        seal_sha256(text.data, text.len, d.digest);
        memcpy(d.key, place->key->public_key, SEAL_PUBLIC);
        d.text = text.data;
        rc = store_signed_put(store, &d);
    }
    buf_free(&text);
    return rc;
}

/* A new file is moved into place, so that a power cut leaves the old head or the new one. */
static bool replace(const char *path, const char *text)
{
    char fresh[4096];
    int n = snprintf(fresh, sizeof fresh, "%s.new", path);
    if (n < 0 || (size_t)n >= sizeof fresh)
        return false;
    int fd = open(fresh, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0640);
    if (fd < 0)
        return false;
    bool ok = write(fd, text, strlen(text)) == (ssize_t)strlen(text) && fsync(fd) == 0;
    close(fd);
    return ok && rename(fresh, path) == 0;
}

enum rc sign_head_write(struct store *store, const struct sign_place *place)
{
    int64_t number, day;
    uint8_t digest[SEAL_DIGEST];
    enum rc rc = store_signed_last(store, &number, &day, digest);
    if (rc != RC_OK || number == 0)
        return rc;
    char hex[SEAL_HEX], text[128];
    seal_hex(digest, hex);
    snprintf(text, sizeof text, "%lld %s\n", (long long)number, hex);
    if (replace(place->head_path, text))
        return RC_OK;
    log_err("cannot write %s: %s", place->head_path, strerror(errno));
    return RC_IO;
}
