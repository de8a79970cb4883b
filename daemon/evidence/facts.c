/* facts.c - see facts.h; the words of VERIFY.txt are in facts_words.c. */
#include "evidence/facts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "base/json.h"

void facts_free(struct facts *f)
{
    free(f->studio);
    free(f->zone);
    free(f->days);
    *f = (struct facts){0};
}

enum rc facts_add_day(struct facts *f, int64_t day, int64_t number, const char digest[SEAL_HEX])
{
    if (f->count == f->cap) {
        size_t cap = f->cap == 0 ? 64 : 2 * f->cap;
        struct facts_day *more = realloc(f->days, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        f->days = more;
        f->cap = cap;
    }
    struct facts_day *d = &f->days[f->count++];
    d->day = day;
    d->number = number;
    memcpy(d->digest, digest, SEAL_HEX);
    return RC_OK;
}

static json_t *date(int64_t day)
{
    char text[16];
    clock_day_text(day, text, sizeof text);
    return json_string(text);
}

static json_t *day_object(const struct facts_day *d)
{
    return json_pack("{s:o,s:I,s:s}", "day", date(d->day), "number", (json_int_t)d->number,
                     "digest", d->digest);
}

void facts_json(const struct facts *f, struct buf *out)
{
    json_t *days = json_array(), *keys = json_array();
    for (size_t i = 0; i < f->count; i++)
        json_array_append_new(days, day_object(&f->days[i]));
    for (size_t i = 0; i < f->key_count; i++)
        json_array_append_new(keys, json_string(f->keys[i]));
    json_t *all = json_pack("{s:i,s:s,s:s?,s:{s:o,s:o},s:o,s:o,s:o}", "format", FACTS_FORMAT,
                            "studio", f->studio, "zone", f->zone, "asked", "from",
                            date(f->asked_from), "to", date(f->asked_to), "head",
                            day_object(&f->days[f->count - 1]), "keys", keys, "days", days);
    char *text = all == NULL ? NULL : json_dumps(all, JSON_INDENT(1));
    json_decref(all);
    if (text == NULL) {
        out->failed = true;
        return;
    }
    buf_str(out, text);
    buf_str(out, "\n");
    free(text);
}

/* Takes the words of a parsed bundle.json; false if one is missing or of another kind. */
static bool take(const json_t *json, struct facts *f)
{
    const json_t *zone = json_object_get(json, "zone"), *asked = json_object_get(json, "asked");
    const char *studio = json_string_value(json_object_get(json, "studio"));
    const char *from = json_string_value(json_object_get(asked, "from"));
    const char *to = json_string_value(json_object_get(asked, "to"));
    if (studio == NULL || !(json_is_null(zone) || json_is_string(zone)) || from == NULL ||
        to == NULL || !clock_day_parse(from, &f->asked_from) ||
        !clock_day_parse(to, &f->asked_to))
        return false;
    f->studio = strdup(studio);
    f->zone = json_is_string(zone) ? strdup(json_string_value(zone)) : NULL;
    return f->studio != NULL && (f->zone != NULL || json_is_null(zone));
}

enum rc facts_read(const struct buf *text, struct facts *out)
{
    json_t *json = json_loadb(text->data == NULL ? "" : text->data, text->len,
                              JSON_REJECT_DUPLICATES, NULL);
    struct facts f = {0};
    enum rc rc = RC_BAD_INPUT;
    json_int_t format = json_integer_value(json_object_get(json, "format"));
    if (format > FACTS_FORMAT)
        rc = RC_NEWER;
    else if (format == FACTS_FORMAT && take(json, &f))
        rc = RC_OK;
    json_decref(json);
    if (rc == RC_OK)
        *out = f;
    else
        facts_free(&f);
    return rc;
}

bool facts_is_day(const char *name, size_t len, int64_t *out_day)
{
    char text[11];
    if (len != 10)
        return false;
    memcpy(text, name, 10);
    text[10] = '\0';
    return clock_day_parse(text, out_day);
}
