/* calendar.c - local time and working days.  Contract in calendar.h. */
#include "calendar.h"

int64_t calendar_day_of(int year, int month, int month_day)
{
    /* Count years from March, so that the leap day is the last of its year. */
    int64_t y = month <= 2 ? year - 1 : year;
    int64_t m = month <= 2 ? month + 9 : month - 3;
    return 365 * y + y / 4 - y / 100 + y / 400 + (153 * m + 2) / 5 + month_day - 1 - 719468;
}

static int weekday_of(int64_t day)
{
    return (int)((day + 3) % 7); /* 1970-01-01 was a Thursday */
}

static void civil_of(int64_t day, struct calendar_time *out)
{
    int year = (int)(1970 + day / 366);
    while (calendar_day_of(year + 1, 1, 1) <= day)
        year++;
    int month = 1;
    while (month < 12 && calendar_day_of(year, month + 1, 1) <= day)
        month++;
    out->year = year;
    out->month = month;
    out->month_day = (int)(day - calendar_day_of(year, month, 1)) + 1;
}

static int64_t last_sunday(int year, int month)
{
    int64_t day = calendar_day_of(year, month, 31);
    return day - (weekday_of(day) + 1) % 7;
}

static int64_t summer_offset_s(int64_t utc_s, int year)
{
    int64_t from = last_sunday(year, 3) * CALENDAR_DAY_S + 3600;
    int64_t to = last_sunday(year, 10) * CALENDAR_DAY_S + 3600;
    return utc_s >= from && utc_s < to ? 3600 : 0;
}

struct calendar_time calendar_local(int64_t utc_s)
{
    struct calendar_time t = {0};
    civil_of(utc_s / CALENDAR_DAY_S, &t);
    int64_t year_start = calendar_day_of(t.year, 1, 1) * CALENDAR_DAY_S;
    t.year_day = (double)(utc_s - year_start) / CALENDAR_DAY_S;

    int64_t local_s = utc_s + summer_offset_s(utc_s, t.year);
    t.day = local_s / CALENDAR_DAY_S;
    t.minute = (int)(local_s % CALENDAR_DAY_S / 60);
    t.weekday = weekday_of(t.day);
    civil_of(t.day, &t);
    return t;
}

int64_t calendar_utc(int64_t day, int minute)
{
    struct calendar_time t = {0};
    civil_of(day, &t);
    int64_t utc_s = day * CALENDAR_DAY_S + (int64_t)minute * 60;
    return utc_s - summer_offset_s(utc_s - 3600, t.year);
}

/* Easter Sunday by the anonymous Gregorian computus (Meeus, Astronomical Algorithms, ch. 8). */
static int64_t easter(int year)
{
    int a = year % 19;
    int b = year / 100;
    int c = year % 100;
    int g = (8 * b + 13) / 25;
    int h = (19 * a + b - b / 4 - g + 15) % 30;
    int m = (a + 11 * h) / 319;
    int r = (2 * (b % 4) + 2 * (c / 4) - c % 4 - h + m + 32) % 7;
    int month = (h - m + r + 90) / 25;
    return calendar_day_of(year, month, (h - m + r + month + 19) % 32);
}

static bool is_holiday(const struct calendar_time *t)
{
    if ((t->month == 12 && t->month_day >= 24) || (t->month == 1 && t->month_day == 1))
        return true;
    int64_t sunday = easter(t->year);
    if (t->day == sunday - 2 || t->day == sunday + 1)
        return true;
    bool monday = t->weekday == 0;
    bool may = t->month == 5 && (t->month_day <= 7 || t->month_day >= 25);
    bool august = t->month == 8 && t->month_day >= 25;
    return monday && (may || august);
}

bool calendar_is_working(int64_t day)
{
    struct calendar_time t = {.day = day, .weekday = weekday_of(day)};
    if (t.weekday >= 5)
        return false;
    civil_of(day, &t);
    return !is_holiday(&t);
}
