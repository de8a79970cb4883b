/* hours.c - see hours.h. */
#include "site/hours.h"

#include <string.h>

#include "base/clock.h"

enum {
    DAYS = 7,
    DAY_MIN = 1440,
    THURSDAY = 3 /* 1970-01-01, counted from Monday */
};

static int day_of(const char *text)
{
    static const char *const days[DAYS] = {"Mo", "Tu", "We", "Th", "Fr", "Sa", "Su"};
    for (int i = 0; i < DAYS; i++)
        if (strncmp(text, days[i], 2) == 0)
            return i;
    return -1;
}

/* "Mo-Fr" or "Tu", parted by commas; Sa-Mo runs over the week's end. */
static bool parse_days(const char **text, unsigned *out)
{
    unsigned days = 0;
    const char *c = *text;
    for (;;) {
        int from = day_of(c), to = from;
        if (from < 0)
            return false;
        c += 2;
        if (*c == '-') {
            to = day_of(c + 1);
            if (to < 0)
                return false;
            c += 3;
        }
        for (int day = from;; day = (day + 1) % DAYS) {
            days |= 1U << day;
            if (day == to)
                break;
        }
        if (*c != ',')
            break;
        c++;
        c += strspn(c, " \t");
    }
    *text = c;
    *out = days;
    return true;
}

static bool parse_digits(const char **text, int *out)
{
    const char *c = *text;
    int v = 0, n = 0;
    for (; *c >= '0' && *c <= '9' && n < 3; c++, n++)
        v = v * 10 + (*c - '0');
    *text = c;
    *out = v;
    return n == 1 || n == 2;
}

/* "8:30", "08:30", "24:00". */
static bool parse_clock(const char **text, int *out_min)
{
    int hour = 0, min = 0;
    if (!parse_digits(text, &hour) || *(*text)++ != ':')
        return false;
    const char *minutes = *text;
    if (!parse_digits(text, &min) || *text - minutes != 2 || min > 59)
        return false;
    *out_min = hour * 60 + min;
    return *out_min <= DAY_MIN;
}

bool hours_parse(const char *text, struct site *site)
{
    unsigned days = 0;
    int from = 0, to = 0;
    if (!parse_days(&text, &days) || (*text != ' ' && *text != '\t'))
        return false;
    text += strspn(text, " \t");
    if (!parse_clock(&text, &from) || *text++ != '-' || !parse_clock(&text, &to) ||
        *text != '\0' || from >= to)
        return false;
    site->working_days = (uint8_t)days;
    site->working_from_min = from;
    site->working_to_min = to;
    return true;
}

void hours_default(struct site *site)
{
    site->working_hours = "Mo-Fr 08:00-18:00";
    site->working_days = 0x1F;
    site->working_from_min = 8 * 60;
    site->working_to_min = 18 * 60;
}

bool site_working_hours(const struct site *site, int64_t utc_s)
{
    int64_t local_s = utc_s + clock_offset_s(utc_s);
    int64_t day = clock_day_of(local_s);
    int weekday = (int)(((day + THURSDAY) % DAYS + DAYS) % DAYS);
    int minute = (int)((local_s - day * CLOCK_DAY_S) / 60);
    return (site->working_days >> weekday & 1) != 0 && minute >= site->working_from_min &&
           minute < site->working_to_min;
}
