/* ruleline.c - see ruleline.h. */
#include "site/ruleline.h"

#include <stdio.h>
#include <string.h>

#include "base/buf.h"
#include "site/field.h"

enum {
    TEXT_BYTES = 256,
    WORDS_MAX = 8,
    HOUR_S = 3600,
    DAY_S = 86400
};

static const char forms[] =
    "QUANTITY above NUMBER, QUANTITY below NUMBER, QUANTITY range above "
    "NUMBER within 24 h, dew margin below NUMBER, CONTACT is on, "
    "CONTACT is off, silent";

static enum rc refuse(char why[RULELINE_WHY], const char *what, const char *word,
                      const char *allowed)
{
    (void)snprintf(why, RULELINE_WHY, "%s \"%s\"; allowed: %s", what, word, allowed);
    return RC_BAD_INPUT;
}

static enum rc quantity(const char *word, bool contact, char why[RULELINE_WHY],
                        enum quantity *out)
{
    enum quantity q = QUANTITY_TEMPERATURE;
    bool known = quantity_by_name(word, &q);
    if (known && contact == (quantity_info(q)->kind == QUANTITY_CONTACT)) {
        *out = q;
        return RC_OK;
    }
    struct buf allowed = {0};
    for (int i = 0; i < QUANTITY_COUNT; i++)
        if (contact == (quantity_info((enum quantity)i)->kind == QUANTITY_CONTACT))
            buf_printf(&allowed, "%s%s", allowed.len > 0 ? ", " : "",
                       quantity_info((enum quantity)i)->name);
    enum rc rc = refuse(why, known ? "rule does not suit" : "unknown quantity", word,
                        allowed.failed ? "" : allowed.data);
    buf_free(&allowed);
    return rc;
}

static enum rc number(const char *word, double least, double most, char why[RULELINE_WHY],
                      double *out)
{
    char allowed[64];
    double v = 0;
    if (field_parse_double(word, &v) && v >= least && v <= most) {
        *out = v;
        return RC_OK;
    }
    (void)snprintf(allowed, sizeof allowed, "a number, %g to %g", least, most);
    return refuse(why, "bad number", word, allowed);
}

static enum rc level(char **words, struct site_limit *limit, char why[RULELINE_WHY])
{
    enum rc rc = quantity(words[0], false, why, &limit->quantity);
    if (rc != RC_OK)
        return rc;
    const struct quantity_info *info = quantity_info(limit->quantity);
    limit->rule = strcmp(words[1], "above") == 0 ? RULE_ABOVE : RULE_BELOW;
    if (limit->quantity == QUANTITY_DEW_MARGIN && limit->rule == RULE_BELOW)
        limit->rule = RULE_DEW_MARGIN;
    return number(words[2], info->least, info->most, why, &limit->value);
}

static enum rc range(char **words, struct site_limit *limit, char why[RULELINE_WHY])
{
    enum rc rc = quantity(words[0], false, why, &limit->quantity);
    if (rc != RC_OK)
        return rc;
    const struct quantity_info *info = quantity_info(limit->quantity);
    char window[TEXT_BYTES];
    long s = 0;
    (void)snprintf(window, sizeof window, "%s %s", words[5], words[6] != NULL ? words[6] : "");
    if (!field_parse_duration(words[6] != NULL ? window : words[5], &s) ||
        (s != HOUR_S && s != DAY_S && s != 7 * DAY_S))
        return refuse(why, "bad span", window, "1 h, 24 h, 7 d");
    limit->rule = RULE_RANGE;
    limit->window_s = (int)s;
    return number(words[3], 0.01, info->most - info->least, why, &limit->value);
}

static bool is(const char *word, const char *want)
{
    return word != NULL && strcmp(word, want) == 0;
}

static enum rc parse_words(char **w, size_t n, const char *text, struct site_limit *limit,
                           char why[RULELINE_WHY])
{
    if (n == 1 && is(w[0], "silent")) {
        limit->rule = RULE_SILENT;
        return RC_OK;
    }
    if (n == 4 && is(w[0], "dew") && is(w[1], "margin") && is(w[2], "below")) {
        char dew_margin[] = "dew_margin";
        char *words[] = {dew_margin, w[2], w[3]};
        return level(words, limit, why);
    }
    if (n == 3 && (is(w[1], "above") || is(w[1], "below")))
        return level(w, limit, why);
    if (n == 3 && is(w[1], "is")) {
        if (!is(w[2], "on") && !is(w[2], "off"))
            return refuse(why, "bad state", w[2], "on, off");
        limit->rule = RULE_CONTACT;
        limit->on = is(w[2], "on");
        return quantity(w[0], true, why, &limit->quantity);
    }
    if ((n == 6 || n == 7) && is(w[1], "range") && is(w[2], "above") && is(w[4], "within"))
        return range(w, limit, why);
    return refuse(why, "unknown rule", text, forms);
}

enum rc ruleline_parse(const char *text, struct site_limit *limit, char why[RULELINE_WHY])
{
    char copy[TEXT_BYTES];
    char *words[WORDS_MAX] = {NULL};
    if (strlen(text) >= sizeof copy)
        return refuse(why, "rule too long:", "", forms);
    memcpy(copy, text, strlen(text) + 1);
    size_t n = field_split(copy, words, WORDS_MAX);
    if (n > WORDS_MAX)
        return refuse(why, "unknown rule", text, forms);
    struct site_limit parsed = *limit;
    enum rc rc = parse_words(words, n, text, &parsed, why);
    if (rc == RC_OK)
        *limit = parsed;
    return rc;
}

/* Humidity: 3 %RH, about what a good capacitive sensor is uncertain by. The others: project
 * choice, wide enough that a value at the limit does not chatter. */
static double deadband(const struct site_limit *limit)
{
    if (limit->rule == RULE_CONTACT || limit->rule == RULE_SILENT)
        return 0;
    if (limit->rule == RULE_RANGE)
        return limit->value / 5;
    switch (limit->quantity) {
    case QUANTITY_HUMIDITY:
    case QUANTITY_SURFACE_HUMIDITY:
        return 3;
    case QUANTITY_TEMPERATURE:
    case QUANTITY_SURFACE_TEMPERATURE:
    case QUANTITY_DEW_POINT:
    case QUANTITY_DEW_MARGIN:
        return 0.5;
    case QUANTITY_WOOD_MOISTURE:
    case QUANTITY_EMC:
    case QUANTITY_ABSOLUTE_HUMIDITY:
        return 0.5;
    case QUANTITY_MOULD_INDEX:
        return 0.1;
    case QUANTITY_LEAK:
    case QUANTITY_MAINS:
    case QUANTITY_DOOR:
    case QUANTITY_TANK_FULL:
    case QUANTITY_PLANT_RUNNING:
    case QUANTITY_COUNT:
        break;
    }
    return 0;
}

void ruleline_defaults(struct site_limit *limit)
{
    limit->deadband = deadband(limit);
    limit->off_delay_s = 0;
    limit->on_delay_s = 30 * 60;
    if (limit->rule == RULE_SILENT)
        limit->on_delay_s = 20 * 60;
    else if (limit->rule == RULE_CONTACT)
        limit->on_delay_s = 0;
}

/* "30 min", "2 h", "90 s", "1 d". */
static void duration(int s, struct buf *out)
{
    if (s % DAY_S == 0 && s > DAY_S)
        buf_printf(out, "%d d", s / DAY_S);
    else if (s % HOUR_S == 0 && s > 0)
        buf_printf(out, "%d h", s / HOUR_S);
    else if (s % 60 == 0 && s > 0)
        buf_printf(out, "%d min", s / 60);
    else
        buf_printf(out, "%d s", s);
}

/* The title in the middle of a sentence, with its unit behind the number. */
static void subject(enum quantity q, struct buf *out)
{
    const char *name = quantity_info(q)->name;
    for (; *name != '\0'; name++)
        buf_add(out, *name == '_' ? " " : name, 1);
}

static void amount(double value, enum quantity q, struct buf *out)
{
    const char *unit = quantity_info(q)->unit;
    buf_printf(out, "%g%s%s", value, unit[0] != '\0' ? " " : "", unit);
}

/* The difference of two temperatures is in kelvin. */
static void span(double value, enum quantity q, struct buf *out)
{
    if (strcmp(quantity_info(q)->unit, "°C") == 0)
        buf_printf(out, "%g K", value);
    else
        amount(value, q, out);
}

void site_limit_text(const struct site_limit *limit, struct buf *out)
{
    switch (limit->rule) {
    case RULE_ABOVE:
    case RULE_BELOW:
    case RULE_DEW_MARGIN:
        subject(limit->quantity, out);
        buf_str(out, limit->rule == RULE_ABOVE ? " above " : " below ");
        amount(limit->value, limit->quantity, out);
        break;
    case RULE_RANGE:
        subject(limit->quantity, out);
        buf_str(out, " range above ");
        span(limit->value, limit->quantity, out);
        buf_str(out, " within ");
        duration(limit->window_s, out);
        break;
    case RULE_CONTACT:
        subject(limit->quantity, out);
        buf_str(out, limit->on ? " is on" : " is off");
        break;
    case RULE_SILENT:
        buf_str(out, "silent");
        break;
    }
    if (limit->on_delay_s > 0) {
        buf_str(out, " for ");
        duration(limit->on_delay_s, out);
    }
}
