/* words.h - an alarm in one English sentence, for the screens and for messages.
 *
 * Threads: pure, but for the process's time zone (base/clock.h).
 */
#ifndef WATCH_WORDS_H
#define WATCH_WORDS_H

#include <stdint.h>

#include "base/buf.h"
#include "site/site.h"

struct words_alarm {
    const struct site_limit *limit; /* borrowed */
    int64_t since_s;
    int64_t until_s; /* 0: the condition lasts */
    double now;      /* in the limit's unit; NaN if not known */
    double worst;    /* the same */
};

/* "Humidity above 65 % in the Drying room since Tuesday 02:10, now 71 %", or of one that is
 * over "... from Tuesday 02:10 to 05:40, highest 74 %". Times are the studio's; the day is
 * named as far as `now_s` makes it needed. */
void words_alarm(const struct words_alarm *alarm, int64_t now_s, struct buf *out);

/* Its parts: "Humidity above 65 % in the Drying room"; ", now 71 %" or ", highest 74 %", nothing
 * where the rule has no value. */
void words_condition(const struct site_limit *limit, struct buf *out);
void words_extent(const struct words_alarm *alarm, struct buf *out);

/* "02:10" of today, "Tuesday 02:10" of the last six days, "3 November 02:10" of the last
 * eleven months, else "3 November 2025 02:10". */
void words_time(int64_t utc_s, int64_t now_s, struct buf *out);

/* A number for a sentence: at most `decimals` digits after the point, none that are zero. */
void words_number(double value, int decimals, struct buf *out);

#endif
