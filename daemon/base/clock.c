/* clock.c - see clock.h. */
#define _GNU_SOURCE /* tm_gmtoff, timegm */
#include "base/clock.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/timex.h>
#include <time.h>
#include <unistd.h>

struct tick clock_now(void)
{
    struct timespec mono, utc;
    clock_gettime(CLOCK_MONOTONIC, &mono);
    clock_gettime(CLOCK_REALTIME, &utc);
    return (struct tick){.mono_ms = (int64_t)mono.tv_sec * 1000 + mono.tv_nsec / 1000000,
                         .utc_ms = (int64_t)utc.tv_sec * 1000 + utc.tv_nsec / 1000000};
}

static int64_t floor_div(int64_t a, int64_t b)
{
    int64_t q = a / b;
    return a % b < 0 ? q - 1 : q;
}

int64_t clock_utc_s(struct tick now)
{
    return floor_div(now.utc_ms, 1000);
}

bool clock_kernel_unsynchronised(void)
{
    struct timex t = {.modes = 0};
    return adjtimex(&t) == TIME_ERROR || (t.status & STA_UNSYNC) != 0;
}

int64_t clock_day_of(int64_t utc_s)
{
    return floor_div(utc_s, CLOCK_DAY_S);
}

static struct tm parts(int64_t utc_s)
{
    time_t t = (time_t)utc_s;
    struct tm tm = {0};
    gmtime_r(&t, &tm);
    return tm;
}

static void body(int64_t utc_s, const char *end, char *out, size_t size)
{
    struct tm tm = parts(utc_s);
    snprintf(out, size, "%04d-%02d-%02dT%02d:%02d:%02d%s", tm.tm_year + 1900, tm.tm_mon + 1,
             tm.tm_mday, tm.tm_hour, tm.tm_min, tm.tm_sec, end);
}

void clock_day_text(int64_t day, char *out, size_t size)
{
    struct tm tm = parts(day * CLOCK_DAY_S);
    snprintf(out, size, "%04d-%02d-%02d", tm.tm_year + 1900, tm.tm_mon + 1, tm.tm_mday);
}

void clock_utc_text(int64_t utc_s, char *out, size_t size)
{
    body(utc_s, "Z", out, size);
}

int64_t clock_offset_s(int64_t utc_s)
{
    time_t t = (time_t)utc_s;
    struct tm tm;
    return localtime_r(&t, &tm) == NULL ? 0 : (int64_t)tm.tm_gmtoff;
}

void clock_local_text(int64_t utc_s, char *out, size_t size)
{
    int64_t offset = clock_offset_s(utc_s);
    int64_t minutes = offset < 0 ? -offset / 60 : offset / 60;
    char end[16];
    snprintf(end, sizeof end, "%c%02d:%02d", offset < 0 ? '-' : '+', (int)(minutes / 60) % 100,
             (int)(minutes % 60));
    body(utc_s + offset, end, out, size);
}

/* Reads exactly `digits` decimal digits. */
static bool number(const char **at, int digits, int least, int most, int *out)
{
    int v = 0;
    for (int i = 0; i < digits; i++, (*at)++) {
        if (**at < '0' || **at > '9')
            return false;
        v = v * 10 + (**at - '0');
    }
    *out = v;
    return v >= least && v <= most;
}

static bool literal(const char **at, char c)
{
    if (**at != c)
        return false;
    (*at)++;
    return true;
}

static int days_in_month(int year, int month)
{
    static const int days[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    bool leap = (year % 4 == 0 && year % 100 != 0) || year % 400 == 0;
    return month == 2 && leap ? 29 : days[month - 1];
}

static bool date(const char **at, struct tm *tm)
{
    int y, m, d;
    if (!number(at, 4, 1900, 9999, &y) || !literal(at, '-') || !number(at, 2, 1, 12, &m) ||
        !literal(at, '-') || !number(at, 2, 1, 31, &d) || d > days_in_month(y, m))
        return false;
    tm->tm_year = y - 1900;
    tm->tm_mon = m - 1;
    tm->tm_mday = d;
    return true;
}

bool clock_day_parse(const char *text, int64_t *out_day)
{
    struct tm tm = {0};
    if (!date(&text, &tm) || *text != '\0')
        return false;
    *out_day = clock_day_of((int64_t)timegm(&tm));
    return true;
}

static bool time_of_day(const char **at, struct tm *tm)
{
    if (!number(at, 2, 0, 23, &tm->tm_hour) || !literal(at, ':') ||
        !number(at, 2, 0, 59, &tm->tm_min))
        return false;
    return **at != ':' || (literal(at, ':') && number(at, 2, 0, 59, &tm->tm_sec));
}

bool clock_parse(const char *text, int64_t *out_utc_s)
{
    struct tm tm = {.tm_isdst = -1};
    if (!date(&text, &tm))
        return false;
    if ((*text == 'T' || *text == ' ') && (text++, !time_of_day(&text, &tm)))
        return false;
    if (*text == '\0') {
        *out_utc_s = (int64_t)mktime(&tm);
        return true;
    }
    int64_t offset = 0;
    if (*text == 'Z') {
        text++;
    } else if (*text == '+' || *text == '-') {
        int sign = *text++ == '-' ? -1 : 1, h, m;
        if (!number(&text, 2, 0, 14, &h) || !literal(&text, ':') ||
            !number(&text, 2, 0, 59, &m))
            return false;
        offset = sign * (h * 3600 + m * 60);
    }
    if (*text != '\0')
        return false;
    *out_utc_s = (int64_t)timegm(&tm) - offset;
    return true;
}

bool clock_zone_set(const char *name)
{
    if (strcmp(name, "UTC") != 0) {
        char path[256];
        int n = snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
        if (n < 0 || (size_t)n >= sizeof path || strstr(name, "..") != NULL ||
            name[0] == '\0' || name[0] == '/' || access(path, R_OK) != 0)
            return false;
    }
    if (setenv("TZ", name, 1) != 0)
        return false;
    tzset();
    return true;
}

struct timespec clock_deadline(int64_t ms)
{
    int64_t at = clock_now().mono_ms + ms;
    return (struct timespec){.tv_sec = (time_t)(at / 1000),
                             .tv_nsec = (long)(at % 1000) * 1000000};
}

void clock_sleep_ms(int64_t ms)
{
    struct timespec t = {.tv_sec = (time_t)(ms / 1000), .tv_nsec = (long)(ms % 1000) * 1000000};
    while (nanosleep(&t, &t) != 0 && errno == EINTR)
        ;
}
