/* words.c - see words.h. */
#include "watch/words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#include "base/clock.h"

/* What a sentence calls a quantity, and what it says of a contact that is on or off. */
static const struct {
    const char *name, *on, *off;
} said[QUANTITY_COUNT] = {
    [QUANTITY_TEMPERATURE] = {.name = "Temperature"},
    [QUANTITY_HUMIDITY] = {.name = "Humidity"},
    [QUANTITY_SURFACE_TEMPERATURE] = {.name = "Surface temperature"},
    [QUANTITY_WOOD_MOISTURE] = {.name = "Wood moisture"},
    [QUANTITY_LEAK] = {"Leak contact", "Leak", "No leak"},
    [QUANTITY_MAINS] = {"Mains contact", "Mains power on", "Mains power off"},
    [QUANTITY_DOOR] = {"Door contact", "Door open", "Door shut"},
    [QUANTITY_TANK_FULL] = {"Tank contact", "Tank full", "Tank not full"},
    [QUANTITY_PLANT_RUNNING] = {"Plant contact", "Plant running", "Plant stopped"},
    [QUANTITY_DEW_POINT] = {.name = "Dew point"},
    [QUANTITY_ABSOLUTE_HUMIDITY] = {.name = "Absolute humidity"},
    [QUANTITY_EMC] = {.name = "Equilibrium moisture content of wood"},
    [QUANTITY_MOULD_INDEX] = {.name = "Mould index"},
    [QUANTITY_SURFACE_HUMIDITY] = {.name = "Humidity at the surface"},
    [QUANTITY_DEW_MARGIN] = {.name = "Margin to dew"},
};

void words_number(double value, int decimals, struct buf *out)
{
    char text[64];
    int n = snprintf(text, sizeof text, "%.*f", decimals, value);
    if (n < 0 || (size_t)n >= sizeof text)
        return;
    if (strchr(text, '.') != NULL) {
        while (text[n - 1] == '0')
            text[--n] = '\0';
        if (text[n - 1] == '.')
            text[--n] = '\0';
    }
    buf_str(out, strcmp(text, "-0") == 0 ? "0" : text);
}

static void measure(double value, int decimals, const char *unit, struct buf *out)
{
    words_number(value, decimals, out);
    if (unit[0] != '\0')
        buf_printf(out, " %s", unit);
}

static void minute_of_day(int64_t local_s, struct buf *out)
{
    int minute = (int)((local_s - clock_day_of(local_s) * CLOCK_DAY_S) / 60);
    buf_printf(out, "%02d:%02d", minute / 60, minute % 60);
}

void words_time(int64_t utc_s, int64_t now_s, struct buf *out)
{
    static const char *const weekday[] = {"Monday", "Tuesday",  "Wednesday", "Thursday",
                                          "Friday", "Saturday", "Sunday"};
    static const char *const month[] = {"January",   "February", "March",    "April",
                                        "May",       "June",     "July",     "August",
                                        "September", "October",  "November", "December"};
    enum {
        MONTHS_NAMED_ALONE_DAYS = 330
    };
    int64_t local_s = utc_s + clock_offset_s(utc_s);
    int64_t day = clock_day_of(local_s);
    int64_t ago = clock_day_of(now_s + clock_offset_s(now_s)) - day;

    if (ago > 0 && ago <= 6) {
        /* Day 0, 1970-01-01, was a Thursday. */
        buf_printf(out, "%s ", weekday[((day + 3) % 7 + 7) % 7]);
    } else if (ago != 0) {
        char text[16];
        int y = 0, m = 1, d = 1;
        clock_day_text(day, text, sizeof text);
        if (sscanf(text, "%d-%d-%d", &y, &m, &d) == 3 && m >= 1 && m <= 12) {
            buf_printf(out, "%d %s ", d, month[m - 1]);
            if (ago < 0 || ago > MONTHS_NAMED_ALONE_DAYS)
                buf_printf(out, "%d ", y);
        }
    }
    minute_of_day(local_s, out);
}

/* The end of a span: its day is named only if it is not the day of the beginning. */
static void time_end(int64_t since_s, int64_t until_s, int64_t now_s, struct buf *out)
{
    int64_t from_s = since_s + clock_offset_s(since_s),
            to_s = until_s + clock_offset_s(until_s);
    if (clock_day_of(from_s) == clock_day_of(to_s))
        minute_of_day(to_s, out);
    else
        words_time(until_s, now_s, out);
}

/* "in the Drying room", but "in Store 2", "in Anna's corner", "in The vault": names that
 * stand without an article; and nobody is "in" what lies outdoors. */
static void place(const struct site_zone *zone, struct buf *out)
{
    const char *title = zone->title;
    size_t len = strlen(title);
    if (zone->purpose == PURPOSE_OUTDOOR) {
        buf_printf(out, " outdoors (%s)", title);
        return;
    }
    bool bare = strncasecmp(title, "the ", 4) == 0 || strstr(title, "'s ") != NULL ||
                strstr(title, "’s ") != NULL ||
                (len > 0 && isdigit((unsigned char)title[len - 1]));
    buf_printf(out, bare ? " in %s" : " in the %s", title);
}

static const struct site_zone *zone_of(const struct site_limit *limit)
{
    return limit->zone != NULL         ? limit->zone
           : limit->instrument != NULL ? limit->instrument->zone
                                       : NULL;
}

static void window(int window_s, struct buf *out)
{
    if (window_s % CLOCK_DAY_S == 0 && window_s > CLOCK_DAY_S)
        buf_printf(out, " within %d days", window_s / CLOCK_DAY_S);
    else
        buf_printf(out, " within %d h", window_s / 3600);
}

/* The condition: "Humidity above 65 %". */
static void condition(const struct site_limit *limit, struct buf *out)
{
    const struct quantity_info *info = quantity_info(limit->quantity);
    const char *name = said[limit->quantity].name;
    switch (limit->rule) {
    case RULE_ABOVE:
    case RULE_BELOW:
        buf_printf(out, "%s %s ", name, limit->rule == RULE_ABOVE ? "above" : "below");
        measure(limit->value, 2, info->unit, out);
        return;
    case RULE_RANGE:
        buf_printf(out, "%s moved more than ", name);
        measure(limit->value, 2, info->unit, out);
        window(limit->window_s, out);
        return;
    case RULE_DEW_MARGIN:
        buf_str(out, "Surface less than ");
        measure(limit->value, 2, "K", out);
        buf_str(out, " above the dew point");
        return;
    case RULE_CONTACT:
        if (said[limit->quantity].on != NULL)
            buf_str(out, limit->on ? said[limit->quantity].on : said[limit->quantity].off);
        else
            buf_printf(out, "%s %s", name, limit->on ? "on" : "off");
        return;
    case RULE_SILENT:
        buf_str(out, "No reading");
        if (limit->instrument != NULL)
            buf_printf(out, " from %s", limit->instrument->name);
        return;
    }
}

static bool has_value(enum site_rule rule)
{
    return rule != RULE_CONTACT && rule != RULE_SILENT;
}

static bool low_is_worse(enum site_rule rule)
{
    return rule == RULE_BELOW || rule == RULE_DEW_MARGIN;
}

void words_condition(const struct site_limit *limit, struct buf *out)
{
    const struct site_zone *zone = zone_of(limit);
    condition(limit, out);
    if (zone != NULL)
        place(zone, out);
}

void words_extent(const struct words_alarm *alarm, struct buf *out)
{
    const struct site_limit *limit = alarm->limit;
    bool over = alarm->until_s != 0;
    double value = over ? alarm->worst : alarm->now;
    if (!has_value(limit->rule) || isnan(value))
        return;
    const char *unit =
        limit->rule == RULE_DEW_MARGIN ? "K" : quantity_info(limit->quantity)->unit;
    buf_str(out, !over ? ", now " : low_is_worse(limit->rule) ? ", lowest " : ", highest ");
    measure(value, limit->quantity == QUANTITY_MOULD_INDEX ? 2 : 1, unit, out);
}

void words_alarm(const struct words_alarm *alarm, int64_t now_s, struct buf *out)
{
    bool over = alarm->until_s != 0;
    words_condition(alarm->limit, out);
    buf_str(out, over ? " from " : " since ");
    words_time(alarm->since_s, now_s, out);
    if (over) {
        buf_str(out, " to ");
        time_end(alarm->since_s, alarm->until_s, now_s, out);
    }
    words_extent(alarm, out);
}
