/* hold_inner.h - inside the library: hold.h's two functions, for the models that call them for
 * every sample and so want them inlined. */
#ifndef LIB_HOLD_INNER_H
#define LIB_HOLD_INNER_H

#include <math.h>

#include "stillroom/hold.h"
#include "stillroom/series.h"

static inline enum sr_rc hold_inner_until(const struct sr_hold *h, int64_t t_s,
                                          struct sr_hold_span *out)
{
    if (t_s < -SR_SERIES_T_MAX_S || t_s > SR_SERIES_T_MAX_S)
        return SR_RANGE;
    if (h->begun && t_s <= h->t_s)
        return SR_ORDER;

    const int64_t way_s = h->begun ? t_s - h->t_s : 0;
    const int64_t longest_s = h->valid ? h->every_s + h->every_s / 2 : 0; /* series.h */
    const int64_t covered_s = way_s < longest_s ? way_s : longest_s;
    *out = (struct sr_hold_span){.covered_s = covered_s,
                                 .blind_s = way_s - covered_s,
                                 .marked = h->begun && !h->valid,
                                 .known = h->known,
                                 .t_c = h->t_c,
                                 .rh_pct = h->rh_pct};
    return SR_OK;
}

static inline enum sr_rc hold_inner_take(struct sr_hold *h, int64_t t_s, double t_c,
                                         double rh_pct, struct sr_hold_span *out)
{
    const bool valid = t_c >= -60.0 && t_c <= 100.0 && rh_pct >= 0.0 && rh_pct <= 105.0;

    if (!valid && (isinf(t_c) || isinf(rh_pct) || (!isnan(t_c) && !isnan(rh_pct))))
        return SR_RANGE;
    const enum sr_rc rc = hold_inner_until(h, t_s, out);
    if (rc != SR_OK)
        return rc;
    h->begun = true;
    h->valid = valid;
    h->t_s = t_s;
    if (valid) {
        h->known = true;
        h->t_c = t_c;
        h->rh_pct = rh_pct;
    }
    return SR_OK;
}

#endif
