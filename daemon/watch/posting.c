/* posting.c - see posting.h. */
#include "watch/posting.h"

#include <stddef.h>

int64_t posting_due_s(const struct site *site, enum site_priority priority, int64_t t_s)
{
    enum {
        MINUTES = 8 * 1440 /* a week and a day meet every weekday's hours */
    };
    if (priority == PRIORITY_HIGHEST)
        return t_s;
    if (priority > PRIORITY_LOW || site_working_hours(site, t_s))
        return t_s + POSTING_HOLD_S;
    int64_t minute_s = t_s - t_s % 60;
    for (int i = 1; i <= MINUTES; i++)
        if (site_working_hours(site, minute_s + i * INT64_C(60)))
            return minute_s + i * INT64_C(60);
    return t_s + POSTING_HOLD_S;
}

bool posting_again_s(int64_t created_s, unsigned tries, bool refused, int64_t now_s,
                     int64_t *out_s)
{
    static const int pauses_min[] = {1, 2, 5, 15, 60};
    const size_t last = sizeof pauses_min / sizeof *pauses_min - 1;
    size_t i = refused || tries > last ? last : tries > 0 ? tries - 1 : 0;
    if (now_s - created_s >= POSTING_WEEK_S)
        return false;
    *out_s = now_s + INT64_C(60) * pauses_min[i];
    return true;
}
