/* board.c - see board.h. The scheme of one step is in board_step.c. */
#include "stillroom/board.h"

#include <math.h>

#include "board_step.h"
#include "stillroom/wood.h"

#define KELVIN 273.15
#define EMC_RH_MAX_PCT 98.0
#define PART_S 3600.0
#define PART_AFTER_JUMP_S 60.0
#define JUMP_PCT 0.5
#define PART_GROWTH 1.5

/* ln D by temperature (from memory: Simpson & Liu 1991). */
static const double arrhenius_k = 5280.0;
static const double reference_k = 293.15;

static bool within(double x, double low, double high)
{
    return x >= low && x <= high; /* NaN is not */
}

/* None (zero), or one that means something. */
static bool surface_ok(double surface_m_s)
{
    return within(surface_m_s, 0.0, 1.0) && (surface_m_s >= 1e-12 || !(surface_m_s > 0.0));
}

static bool spec_ok(const struct sr_board_spec *s)
{
    return within(s->thickness_m, 1e-5, 1.0) && (s->open_faces == 1 || s->open_faces == 2) &&
           within(s->d_m2_s, 1e-14, 1e-6) && within(s->d_per_pct, 0.0, 1.0) &&
           surface_ok(s->surface_m_s);
}

static bool board_ok(const struct sr_board *b)
{
    if (!spec_ok(&b->spec) || !within(b->air_pct, 0.0, BOARD_MOISTURE_MAX_PCT))
        return false;
    for (int i = 0; i < SR_BOARD_CELLS; i++)
        if (!within(b->moisture_pct[i], 0.0, BOARD_MOISTURE_MAX_PCT))
            return false;
    return true;
}

enum sr_rc sr_board_begin(const struct sr_board_spec *spec, double moisture_pct,
                          struct sr_board *out)
{
    if (!spec_ok(spec) || !within(moisture_pct, 0.0, BOARD_MOISTURE_MAX_PCT))
        return SR_RANGE;
    out->spec = *spec;
    out->air_pct = moisture_pct;
    for (int i = 0; i < SR_BOARD_CELLS; i++)
        out->moisture_pct[i] = moisture_pct;
    return SR_OK;
}

static enum sr_rc step(struct sr_board *b, double emc_from_pct, double emc_to_pct, double d,
                       double dt_s)
{
    if (!board_ok(b) || !within(emc_from_pct, 0.0, BOARD_MOISTURE_MAX_PCT) ||
        !within(emc_to_pct, 0.0, BOARD_MOISTURE_MAX_PCT) || !within(dt_s, 0.0, 1e9))
        return SR_RANGE;
    /* What follows a jump of the air is quick at first, so a step is taken in parts that grow. */
    const bool jump = fabs(emc_from_pct - b->air_pct) > JUMP_PCT;
    double part_s = jump ? PART_AFTER_JUMP_S : PART_S, done_s = 0.0, air_pct = emc_from_pct;
    while (done_s < dt_s) {
        const double next_s = dt_s - done_s > part_s ? done_s + part_s : dt_s;
        const double next_pct = emc_from_pct + (emc_to_pct - emc_from_pct) * (next_s / dt_s);
        sr_board_step_checked(b, air_pct, next_pct, d, next_s - done_s);
        done_s = next_s;
        air_pct = next_pct;
        part_s *= PART_GROWTH;
    }
    b->air_pct = emc_to_pct;
    return SR_OK;
}

enum sr_rc sr_board_step(struct sr_board *b, double emc_from_pct, double emc_to_pct,
                         double dt_s)
{
    return step(b, emc_from_pct, emc_to_pct, b->spec.d_m2_s, dt_s);
}

enum sr_rc sr_board_step_air(struct sr_board *b, double t_c, double rh_pct, double dt_s)
{
    double emc_pct, d = b->spec.d_m2_s;

    if (!within(t_c, -60.0, 100.0) || !within(rh_pct, 0.0, 105.0))
        return SR_RANGE;
    const enum sr_rc rc =
        sr_wood_emc(fmax(t_c, SR_WOOD_T_MIN_C), fmin(rh_pct, EMC_RH_MAX_PCT), &emc_pct);
    if (rc != SR_OK)
        return rc;
    if (b->spec.d_by_temperature)
        d *= exp(-arrhenius_k * (1.0 / (t_c + KELVIN) - 1.0 / reference_k));
    return step(b, emc_pct, emc_pct, d, dt_s);
}

enum sr_rc sr_board_now(const struct sr_board *b, struct sr_board_answer *out)
{
    if (!board_ok(b))
        return SR_RANGE;
    sr_board_step_read(b, out);
    return SR_OK;
}

enum sr_rc sr_board_band_begin(const struct sr_board_spec *spec, double moisture_pct,
                               struct sr_board_band *out)
{
    static const double d_m2_s[] = {SR_BOARD_D_LOW, SR_BOARD_D_DEFAULT, SR_BOARD_D_HIGH};
    struct sr_board_band band;

    for (int i = 0; i < 3; i++) {
        struct sr_board_spec s = *spec;
        s.d_m2_s = d_m2_s[i];
        const enum sr_rc rc = sr_board_begin(&s, moisture_pct, &band.at[i]);
        if (rc != SR_OK)
            return rc;
    }
    *out = band;
    return SR_OK;
}

enum sr_rc sr_board_band_step_air(struct sr_board_band *b, double t_c, double rh_pct,
                                  double dt_s)
{
    /* What one refuses all refuse, unless a board was spoilt by hand: look at all first. */
    for (int i = 0; i < 3; i++)
        if (!board_ok(&b->at[i]))
            return SR_RANGE;
    for (int i = 0; i < 3; i++) {
        const enum sr_rc rc = sr_board_step_air(&b->at[i], t_c, rh_pct, dt_s);
        if (rc != SR_OK)
            return rc;
    }
    return SR_OK;
}

static struct sr_board_range range_of(double a, double b, double c)
{
    return (struct sr_board_range){fmin(a, fmin(b, c)), b, fmax(a, fmax(b, c))};
}

enum sr_rc sr_board_band_now(const struct sr_board_band *b, struct sr_board_band_answer *out)
{
    struct sr_board_answer a[3];

    for (int i = 0; i < 3; i++) {
        const enum sr_rc rc = sr_board_now(&b->at[i], &a[i]);
        if (rc != SR_OK)
            return rc;
    }
    out->mean_pct = range_of(a[0].mean_pct, a[1].mean_pct, a[2].mean_pct);
    out->surface_pct = range_of(a[0].surface_pct, a[1].surface_pct, a[2].surface_pct);
    out->core_pct = range_of(a[0].core_pct, a[1].core_pct, a[2].core_pct);
    out->gradient_pct_mm =
        range_of(a[0].gradient_pct_mm, a[1].gradient_pct_mm, a[2].gradient_pct_mm);
    return SR_OK;
}
