/* hold.c - see hold.h. */
#include "stillroom/hold.h"

#include "hold_inner.h"

enum sr_rc sr_hold_begin(int64_t every_s, struct sr_hold *out)
{
    if (every_s < 1 || every_s > SR_SERIES_EVERY_MAX_S)
        return SR_RANGE;
    *out = (struct sr_hold){.every_s = every_s};
    return SR_OK;
}

enum sr_rc sr_hold_until(const struct sr_hold *h, int64_t t_s, struct sr_hold_span *out)
{
    return hold_inner_until(h, t_s, out);
}

enum sr_rc sr_hold_take(struct sr_hold *h, int64_t t_s, double t_c, double rh_pct,
                        struct sr_hold_span *out)
{
    return hold_inner_take(h, t_s, t_c, rh_pct, out);
}
