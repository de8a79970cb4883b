/* chain.c - see chain.h. */
#include "evidence/chain.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"

bool chain_begins(const char *hex, const char *given)
{
    size_t len = strlen(given);
    return len >= 16 && strncasecmp(hex, given, len) == 0;
}

bool chain_read(struct chain *c, const struct chain_day *day, struct daytext *out)
{
    char said[16];
    struct daytext t;
    if (!daytext_read(day->text, day->text_len, &t)) {
        findings_add(c->findings, FINDING_FORM, day->place, "day.txt",
                     "this is not the text of a signed day, format 1");
        return false;
    }
    clock_day_text(t.day, said, sizeof said);
    if (strcmp(said, day->place) != 0)
        findings_add(c->findings, FINDING_CHAIN, day->place, "day.txt",
                     "what lies here is the signed day %s", said);
    *out = t;
    return true;
}

static bool is_known(const struct chain *c, const char *fingerprint)
{
    for (size_t i = 0; i < c->known->key_count; i++)
        if (chain_begins(fingerprint, c->known->keys[i]))
            return true;
    return false;
}

static void meet_key(struct chain *c, const char *fingerprint)
{
    for (size_t i = 0; i < c->key_count; i++)
        if (strcmp(c->keys[i], fingerprint) == 0)
            return;
    if (c->key_count < CHAIN_KEYS)
        memcpy(c->keys[c->key_count++], fingerprint, SEAL_HEX);
}

static void check_key(struct chain *c, const char *place, const struct daytext *t,
                      const uint8_t *key)
{
    uint8_t digest[SEAL_DIGEST];
    char fingerprint[SEAL_HEX];
    seal_sha256(key, SEAL_PUBLIC, digest);
    seal_hex(digest, fingerprint);
    meet_key(c, fingerprint);
    bool known = is_known(c, fingerprint);
    if (c->known->key_count > 0 && !known)
        findings_add(c->findings, FINDING_KEY, place, "day.sig",
                     "signed with the key %s, which is none of those given", t->key);
    /* Whoever was given both ids has been told of the change. */
    if (c->days > 0 && strcmp(t->key, c->last.key) != 0 && !(known && c->known->key_count > 1))
        findings_add(
            c->findings, FINDING_KEY, place, "day.txt",
            "the key changes from %s to %s; ask the studio when and why, and give both "
            "ids",
            c->last.key, t->key);
}

static void check_signature(struct chain *c, const struct chain_day *day,
                            const struct daytext *t, const uint8_t *key)
{
    char id[DAYTEXT_ID];
    if (key != NULL)
        seal_key_id(key, id);
    if (key == NULL || strcmp(id, t->key) != 0) {
        findings_add(c->findings, FINDING_KEY, day->place, "day.txt",
                     "the public key %s, which it names, is not here", t->key);
        return;
    }
    check_key(c, day->place, t, key);
    if (day->signature_len != SEAL_SIGNATURE ||
        !seal_verify(key, day->text, day->text_len, day->signature))
        findings_add(c->findings, FINDING_SIGNATURE, day->place, "day.sig",
                     "this is not a signature over day.txt by the key %s", t->key);
}

static void check_follows(struct chain *c, const char *place, const struct daytext *t)
{
    const struct daytext *last = &c->last;
    char before[16];
    clock_day_text(last->day, before, sizeof before);
    if (t->number > last->number + 1)
        findings_add(c->findings, FINDING_CHAIN, place, "day.txt",
                     "numbers %lld to %lld are left out between %s and this day",
                     (long long)last->number + 1, (long long)t->number - 1, before);
    else if (t->number != last->number + 1)
        findings_add(c->findings, FINDING_CHAIN, place, "day.txt",
                     "number %lld comes after number %lld", (long long)t->number,
                     (long long)last->number);
    else if (strcmp(t->previous, c->last_hex) != 0)
        findings_add(c->findings, FINDING_CHAIN, place, "day.txt",
                     "it does not follow the day.txt of %s, whose SHA-256 is another", before);
    if (t->day <= last->day)
        findings_add(c->findings, FINDING_CHAIN, place, "day.txt", "it comes after %s", before);
    if (strcmp(t->store, last->store) != 0)
        findings_add(c->findings, FINDING_CHAIN, place, "day.txt",
                     "it is of the store %s, the day before of %s", t->store, last->store);
}

static bool tell_notes(struct chain *c, const char *place, const struct daytext *t)
{
    const char *line;
    size_t at = 0, len;
    bool owns_up = false;
    while (daytext_note(t, &at, &line, &len)) {
        owns_up = owns_up || (len > 11 && memcmp(line, "note break:", 11) == 0);
        findings_add(c->findings, FINDING_NOTE, place, "day.txt", "the signed day says: %.*s",
                     (int)(len - 5), line + 5);
    }
    return owns_up;
}

void chain_take(struct chain *c, const struct chain_day *day, const struct daytext *t,
                const uint8_t *key)
{
    check_signature(c, day, t, key);
    if (c->days > 0)
        check_follows(c, day->place, t);
    bool owns_up = tell_notes(c, day->place, t);
    if (c->days > 0 && t->number == c->last.number + 1 && t->day > c->last.day + 1 && !owns_up)
        findings_add(c->findings, FINDING_CHAIN, day->place, "day.txt",
                     "%lld days before it were never signed, and it does not say so",
                     (long long)(t->day - c->last.day - 1));
    if (c->days == 0) {
        c->first_day = t->day;
        c->first_number = t->number;
    }
    uint8_t digest[SEAL_DIGEST];
    seal_sha256(day->text, day->text_len, digest);
    seal_hex(digest, c->last_hex);
    if (c->known->head != NULL && chain_begins(c->last_hex, c->known->head))
        c->head_met = true;
    c->last = *t;
    c->last.notes = NULL;
    c->last.notes_len = 0;
    c->days++;
}

void chain_end(struct chain *c)
{
    if (c->known->head != NULL && !c->head_met)
        findings_add(c->findings, FINDING_CHAIN, "", "",
                     "no signed day here has the digest %s that was given", c->known->head);
}
