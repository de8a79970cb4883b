/* coating.h - is the air fit for varnishing, gesso, glue, gilding or retouching: now, and
 * until the work is safe?
 *
 * Units:   temperature degC, relative humidity percent, margins K, times UTC seconds.
 * Range:   as psychro.h, humidity 0..100 %.
 * Errors:  SR_RANGE outside it and for an unknown work; a missing reading is no error but an
 *          answer (SR_COATING_UNKNOWN and its reason).
 * Threads: pure functions.
 *
 * Sources: 3 K between surface and dew point and humidity below 85 % are a paint trade rule
 * (it is associated with guidance to ISO 8502-4, which is about steel). Evaporation cools a
 * solvent film by 2 to 6 K (from memory), so for varnish the surface counts 4 K colder. All
 * other limits: common practice, from memory (for varnish see also Samet 1997). Judged over
 * the cure - 24 h for varnish and oil retouching, until next morning for gesso, glue and
 * gilding - from the worst of the room's last seven nights (common practice). Nights from
 * 18:00 to 08:00 and at least three of the seven known: project choice.
 * A yes is about the air alone; the product sheet, the object and the conservator decide.
 */
#ifndef STILLROOM_COATING_H
#define STILLROOM_COATING_H

#include <stdbool.h>

#include "stillroom/series.h"

extern const char sr_coating_caveat[];          /* must be shown beside every answer */
extern const char sr_coating_solvent_caution[]; /* and beside one about varnish */

#define SR_COATING_DEW_MARGIN_K 3.0      /* trade rule */
#define SR_COATING_TRADE_RH_MAX_PCT 85.0 /* trade rule */
#define SR_COATING_FILM_COOLING_K 4.0    /* of a solvent film; 2 to 6 K, from memory */
#define SR_COATING_COLD_ARRIVAL_H 24.0   /* to warm through: common practice */
#define SR_COATING_NIGHTS 7
#define SR_COATING_NIGHTS_NEEDED 3

/* Humidity at which air of t_c, and a surface as warm as the air, just keep margin_k between
 * the dew point and a film cooling_k colder than the surface. Both 0..30 K. */
SR_MUST_USE enum sr_rc sr_coating_rh_limit(double t_c, double margin_k, double cooling_k,
                                           double *out_pct);

enum sr_coating_work {
    SR_COATING_VARNISH,
    SR_COATING_GESSO,
    SR_COATING_GLUE,
    SR_COATING_GILDING,   /* water gilding */
    SR_COATING_RETOUCHING /* oil fills and retouching */
};
#define SR_COATING_WORKS 5

/* NaN: no such limit. */
struct sr_coating_limits {
    const char *name;
    double t_min_c, t_max_c;
    double rh_min_pct, rh_max_pct;
    double rh_stop_pct;    /* above it, work in hand stops */
    double film_cooling_k; /* how much colder than the surface the film gets */
    double dew_margin_k;   /* that must be left between film and dew point */
    double cure_h;         /* NaN: until next morning */
};

/* Common practice, by enum sr_coating_work; copy and change for a product. */
extern const struct sr_coating_limits sr_coating_practice[SR_COATING_WORKS];

enum sr_coating_answer {
    SR_COATING_NO,
    SR_COATING_YES,
    SR_COATING_UNKNOWN
};

/* Reasons, any of them together. The first six are a no, the next four leave it unknown, the
 * last only warns. */
enum {
    SR_COATING_TOO_COLD = 1,
    SR_COATING_TOO_WARM = 2,
    SR_COATING_TOO_DRY = 4,
    SR_COATING_TOO_DAMP = 8,
    SR_COATING_STOP = 16, /* so damp that work in hand stops */
    SR_COATING_DEW = 32,  /* too near the dew point */
    SR_COATING_NO_READING = 64,
    SR_COATING_NO_SURFACE = 128,
    SR_COATING_FROM_COLD = 256,
    SR_COATING_FEW_NIGHTS = 512,
    SR_COATING_CLOSE = 1024 /* some margin is smaller than the sensor's uncertainty */
};
#define SR_COATING_REASONS 11

/* Words for one reason, never NULL. */
const char *sr_coating_reason_text(unsigned reason);

struct sr_coating_air {
    double t_c, rh_pct;     /* NaN: no reading */
    double surface_c;       /* of the object or wall; NaN: not measured */
    double since_cold_h;    /* since it came from a colder place; INFINITY: long ago */
    double u_t_k, u_rh_pct; /* expanded uncertainties (k = 2), 0 or more */
};

/* Margins are positive inside the limit, NaN where there is no limit or no reading. */
struct sr_coating_fitness {
    enum sr_coating_answer answer;
    unsigned reasons;
    double cold_margin_k, warm_margin_k;
    double dry_margin_pct, damp_margin_pct;
    double dew_margin_k; /* film less dew point, less the margin that must be left */
};

/* Fit to begin now? Without a surface reading the answer is no or unknown, never yes. */
SR_MUST_USE enum sr_rc sr_coating_now(const struct sr_coating_limits *limits,
                                      const struct sr_coating_air *air,
                                      struct sr_coating_fitness *out);

/* The worst of a room's last nights. */
struct sr_coating_nights {
    int known;         /* nights with at least 75 % coverage */
    int surface_known; /* of these, with the surface covered as well */
    double t_min_c, t_max_c, rh_min_pct, rh_max_pct;
    double dew_gap_min_k; /* least surface temperature less dew point; NaN if never measured */
};

/* Nights of the seven days before now_s, complete ones only. surface_c[s->n] or NULL.
 * utc_offset_s makes local time of UTC (a change of clocks within the week is not followed).
 * SR_THIN if no night is covered. */
SR_MUST_USE enum sr_rc sr_coating_nights_before(const struct sr_air_series *s,
                                                const double surface_c[], int64_t now_s,
                                                int64_t utc_offset_s,
                                                struct sr_coating_nights *out);

/* Fit over the cure, if the coming night is as bad as the worst of those? air gives the
 * uncertainties and the time since the cold; its readings are not used. */
SR_MUST_USE enum sr_rc sr_coating_cure(const struct sr_coating_limits *limits,
                                       const struct sr_coating_air *air,
                                       const struct sr_coating_nights *nights,
                                       struct sr_coating_fitness *out);

#endif
