/* calendar.h - the studio's local time (England) and its working days, without a time zone file.
 *
 * Units:   seconds UTC, days since 1970-01-01 in local time, minutes of the local day.
 * Range:   1970 to 2200.
 * Threads: pure functions.
 */
#ifndef SIMULATOR_CALENDAR_H
#define SIMULATOR_CALENDAR_H

#include <stdbool.h>
#include <stdint.h>

enum {
    CALENDAR_DAY_S = 86400,
    CALENDAR_OPEN_MIN = 8 * 60 + 30,
    CALENDAR_CLOSE_MIN = 18 * 60,
};

struct calendar_time {
    int64_t day; /* local days since 1970-01-01 */
    int year;
    int month;       /* 1-12 */
    int month_day;   /* 1-31 */
    int weekday;     /* 0 = Monday */
    int minute;      /* of the local day, 0-1439 */
    double year_day; /* 0 at 1 January 00:00 UTC, with fraction, for the seasons */
};

/* Days since 1970-01-01 of a date of the Gregorian calendar. */
int64_t calendar_day_of(int year, int month, int month_day);

/* Local time by the European rule: an hour ahead from the last Sunday of March, 01:00 UTC, to
 * the last Sunday of October, 01:00 UTC. */
struct calendar_time calendar_local(int64_t utc_s);

/* UTC of a minute of a local day; minutes that do not exist in spring fall an hour later. */
int64_t calendar_utc(int64_t day, int minute);

/* Monday to Friday, without the public holidays of England and without 24 December to
 * 1 January, when the studio is shut. */
bool calendar_is_working(int64_t day);

#endif
