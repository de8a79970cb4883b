/* fuzz_site.c - any bytes at all as a site file: no crash, no leak, and never "sound" with a hole
 * in it or "wrong" without a word. */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "site/site.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

static void check_wrong(const struct buf *mistakes)
{
    must(mistakes->len > 0 && mistakes->data[mistakes->len - 1] == '\n', "mistakes are lines");
    must(strlen(mistakes->data) == mistakes->len, "mistakes are text");
    for (const char *line = mistakes->data; *line != '\0'; line = strchr(line, '\n') + 1)
        must(strncmp(line, "fuzz.ini:", 9) == 0, "each begins with the file");
}

static void check_wiring(const struct site *s)
{
    for (size_t i = 0; i < s->bus_count; i++)
        must(s->buses[i].kind == BUS_MODBUS_RTU ? s->buses[i].device != NULL
                                                : s->buses[i].host != NULL && s->buses[i].port,
             "a bus has an address");
    for (size_t i = 0; i < s->instrument_count; i++) {
        const struct site_instrument *in = &s->instruments[i];
        must(in->bus != NULL && in->zone != NULL, "an instrument has a bus and a zone");
        must(in->read_count > 0 && in->read_count <= SITE_READS_MAX, "an instrument reads");
        must(in->every_s >= 1 && in->unit >= 0 && in->unit <= 255, "numbers in their ranges");
        for (size_t k = 0; k < in->read_count; k++)
            must(in->reads[k].quantity < QUANTITY_COUNT &&
                     in->reads[k].none_count <= SITE_NO_VALUE_MAX,
                 "a read line in its ranges");
    }
    for (size_t i = 0; i < s->zone_count; i++)
        must(s->zones[i].name[0] != '\0' &&
                 (s->zones[i].lead == NULL || s->zones[i].lead->zone == &s->zones[i]),
             "a zone is led from inside");
}

static void check_limits(const struct site *s)
{
    struct buf text = {0};
    for (size_t i = 0; i < s->limit_count; i++) {
        const struct site_limit *l = &s->limits[i];
        must((l->zone != NULL) != (l->instrument != NULL), "a limit has one place");
        must(l->source != NULL && l->name[0] != '\0', "a limit has its words");
        must(l->on_delay_s >= 0 && l->off_delay_s >= 0 && l->deadband >= 0,
             "no negative times");
        for (size_t k = 0; k < i; k++)
            must(strcmp(l->name, s->limits[k].name) != 0, "a limit's name is its own");
        buf_clear(&text);
        site_limit_text(l, &text);
        must(text.len > 0, "a limit reads as English");
    }
    buf_free(&text);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct buf mistakes = {0};
    struct site *s = NULL;
    enum rc rc = site_parse("fuzz.ini", (const char *)data, size, &mistakes, &s);
    if (rc == RC_OK) {
        must(mistakes.len == 0, "a sound file has no mistakes");
        must(s->text.len == size && (size == 0 || memcmp(s->text.data, data, size) == 0),
             "the text is kept");
        check_wiring(s);
        check_limits(s);
        (void)site_working_hours(s, 0);
    } else {
        must(rc == RC_BAD_INPUT && s == NULL, "nothing but bad input");
        check_wrong(&mistakes);
    }
    site_free(s);
    buf_free(&mistakes);
    return 0;
}
