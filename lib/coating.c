/* coating.c - see coating.h; the nights are in coating_nights.c. */
#include "stillroom/coating.h"

#include <math.h>

#include "stillroom/psychro.h"

#define NONE ((double)NAN)
#define NO_BITS                                                                                \
    (SR_COATING_TOO_COLD | SR_COATING_TOO_WARM | SR_COATING_TOO_DRY | SR_COATING_TOO_DAMP |    \
     SR_COATING_STOP | SR_COATING_DEW)
#define UNKNOWN_BITS                                                                           \
    (SR_COATING_NO_READING | SR_COATING_NO_SURFACE | SR_COATING_FROM_COLD |                    \
     SR_COATING_FEW_NIGHTS)

const char sr_coating_caveat[] =
    "About the air alone: the product sheet, the object and the conservator decide.";
const char sr_coating_solvent_caution[] =
    "Solvent vapour: extraction, no ignition source, the exposure rules of the product; "
    "nothing here switches a fan or a heater.";

const struct sr_coating_limits sr_coating_practice[SR_COATING_WORKS] = {
    [SR_COATING_VARNISH] = {"varnishing", 18.0, 24.0, 40.0, 60.0, 65.0,
                            SR_COATING_FILM_COOLING_K, SR_COATING_DEW_MARGIN_K, 24.0},
    [SR_COATING_GESSO] = {"gesso", 18.0, 24.0, 45.0, 60.0, NONE, 0.0, SR_COATING_DEW_MARGIN_K,
                          NONE},
    [SR_COATING_GLUE] = {"animal glue", 20.0, NONE, NONE, SR_COATING_TRADE_RH_MAX_PCT, NONE,
                         0.0, SR_COATING_DEW_MARGIN_K, NONE},
    [SR_COATING_GILDING] = {"water gilding", NONE, NONE, 50.0, 65.0, NONE, 0.0,
                            SR_COATING_DEW_MARGIN_K, NONE},
    [SR_COATING_RETOUCHING] = {"oil fills and retouching", 15.0, NONE, 40.0, 60.0, NONE, 0.0,
                               SR_COATING_DEW_MARGIN_K, 24.0},
};

const char *sr_coating_reason_text(unsigned reason)
{
    switch (reason) {
    case SR_COATING_TOO_COLD:
        return "too cold";
    case SR_COATING_TOO_WARM:
        return "too warm";
    case SR_COATING_TOO_DRY:
        return "too dry";
    case SR_COATING_TOO_DAMP:
        return "too damp";
    case SR_COATING_STOP:
        return "so damp that work in hand stops";
    case SR_COATING_DEW:
        return "too near the dew point: the film may blush";
    case SR_COATING_NO_READING:
        return "no reading of the air";
    case SR_COATING_NO_SURFACE:
        return "the surface is not measured";
    case SR_COATING_FROM_COLD:
        return "came from a colder place less than a day ago";
    case SR_COATING_FEW_NIGHTS:
        return "too few of the last nights are known";
    case SR_COATING_CLOSE:
        return "closer to a limit than the sensor can tell";
    default:
        return "unknown reason";
    }
}

enum sr_rc sr_coating_rh_limit(double t_c, double margin_k, double cooling_k, double *out_pct)
{
    if (!(margin_k >= 0.0 && margin_k <= 30.0 && cooling_k >= 0.0 && cooling_k <= 30.0))
        return SR_RANGE;
    double dew_pa, full_pa;
    enum sr_rc rc = sr_psychro_svp_water(t_c - margin_k - cooling_k, &dew_pa);
    if (rc == SR_OK)
        rc = sr_psychro_svp_water(t_c, &full_pa);
    if (rc != SR_OK)
        return rc;
    *out_pct = 100.0 * dew_pa / full_pa;
    return SR_OK;
}

/* What a judgement rests on: now, the lowest and highest are the same. */
struct worst {
    double t_min_c, t_max_c, rh_min_pct, rh_max_pct;
    double dew_gap_k;
};

static void judge(const struct sr_coating_limits *l, const struct sr_coating_air *air,
                  const struct worst *w, struct sr_coating_fitness *f)
{
    f->cold_margin_k = w->t_min_c - l->t_min_c;
    f->warm_margin_k = l->t_max_c - w->t_max_c;
    f->dry_margin_pct = w->rh_min_pct - l->rh_min_pct;
    f->damp_margin_pct = l->rh_max_pct - w->rh_max_pct;
    f->dew_margin_k = w->dew_gap_k - l->film_cooling_k - l->dew_margin_k;
    const struct {
        double margin, uncertainty;
        unsigned reason;
    } rows[] = {
        {f->cold_margin_k, air->u_t_k, SR_COATING_TOO_COLD},
        {f->warm_margin_k, air->u_t_k, SR_COATING_TOO_WARM},
        {f->dry_margin_pct, air->u_rh_pct, SR_COATING_TOO_DRY},
        {f->damp_margin_pct, air->u_rh_pct, SR_COATING_TOO_DAMP},
        {f->dew_margin_k, air->u_t_k, SR_COATING_DEW},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if (rows[i].margin < 0.0) /* false for NaN: no such limit */
            f->reasons |= rows[i].reason;
        else if (rows[i].margin < rows[i].uncertainty)
            f->reasons |= SR_COATING_CLOSE;
    }
    if (w->rh_max_pct > l->rh_stop_pct)
        f->reasons |= SR_COATING_STOP;
    if (isnan(w->dew_gap_k))
        f->reasons |= SR_COATING_NO_SURFACE;
}

static void conclude(const struct sr_coating_air *air, struct sr_coating_fitness *f)
{
    if (air->since_cold_h < SR_COATING_COLD_ARRIVAL_H)
        f->reasons |= SR_COATING_FROM_COLD;
    if (f->reasons & NO_BITS)
        f->answer = SR_COATING_NO;
    else
        f->answer = (f->reasons & UNKNOWN_BITS) != 0 ? SR_COATING_UNKNOWN : SR_COATING_YES;
}

static bool air_ok(const struct sr_coating_air *air)
{
    return air->u_t_k >= 0.0 && air->u_t_k <= 50.0 && air->u_rh_pct >= 0.0 &&
           air->u_rh_pct <= 100.0 && air->since_cold_h >= 0.0;
}

static const struct sr_coating_fitness nothing_known = {
    .answer = SR_COATING_UNKNOWN,
    .cold_margin_k = NONE,
    .warm_margin_k = NONE,
    .dry_margin_pct = NONE,
    .damp_margin_pct = NONE,
    .dew_margin_k = NONE,
};

enum sr_rc sr_coating_now(const struct sr_coating_limits *limits,
                          const struct sr_coating_air *air, struct sr_coating_fitness *out)
{
    if (!air_ok(air))
        return SR_RANGE;
    struct sr_coating_fitness f = nothing_known;
    if (isnan(air->t_c) || isnan(air->rh_pct)) {
        f.reasons = SR_COATING_NO_READING;
        conclude(air, &f);
        *out = f;
        return SR_OK;
    }
    double dew_c = NONE;
    enum sr_rc rc = sr_psychro_dew_point(air->t_c, air->rh_pct, &dew_c);
    bool dry = rc != SR_OK && air->rh_pct >= 0.0 && air->rh_pct < 1.0;
    if (rc != SR_OK && !dry)
        return rc;
    if (fabs(air->surface_c) > 100.0)
        return SR_RANGE;
    if (dry) /* no dew point above -60 degC: no dew either */
        dew_c = SR_PSYCHRO_T_MIN_C;
    struct worst w = {air->t_c, air->t_c, air->rh_pct, air->rh_pct, air->surface_c - dew_c};
    judge(limits, air, &w, &f);
    conclude(air, &f);
    *out = f;
    return SR_OK;
}

enum sr_rc sr_coating_cure(const struct sr_coating_limits *limits,
                           const struct sr_coating_air *air,
                           const struct sr_coating_nights *nights,
                           struct sr_coating_fitness *out)
{
    if (!air_ok(air) || nights->known < 0)
        return SR_RANGE;
    struct sr_coating_fitness f = nothing_known;
    if (nights->known < SR_COATING_NIGHTS_NEEDED)
        f.reasons |= SR_COATING_FEW_NIGHTS;
    if (nights->known > 0) {
        double gap_k =
            nights->surface_known >= SR_COATING_NIGHTS_NEEDED ? nights->dew_gap_min_k : NONE;
        struct worst w = {nights->t_min_c, nights->t_max_c, nights->rh_min_pct,
                          nights->rh_max_pct, gap_k};
        judge(limits, air, &w, &f);
    }
    conclude(air, &f);
    *out = f;
    return SR_OK;
}
