/* salt.h - saturated salt solutions as fixed points of humidity, and what a sensor reads there.
 *
 * Units:   temperature degC, humidity percent.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; others where said. The result
 *          is left alone then.
 * Source:  Greenspan (1977), J. Res. NBS 81A; the sign of the linear term of lithium chloride and
 *          potassium carbonate is plus, as the printed table (from memory) rises with temperature
 *          there; the CRC Handbook's independent form agrees. Potassium nitrate and sulphate were
 *          confirmed by one source only.
 * Method:  a wet slurry with solid left over, a small closed jar, one temperature within 0.5 K,
 *          4-24 h, no drops on the sensor. Salts creep. Lithium chloride and potassium nitrate
 *          are not for food jars: label them.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_SALT_H
#define STILLROOM_SALT_H

#include "stillroom/rc.h"

enum sr_salt {
    SR_SALT_LITHIUM_CHLORIDE,
    SR_SALT_MAGNESIUM_CHLORIDE,
    SR_SALT_POTASSIUM_CARBONATE, /* 0..30 degC only */
    SR_SALT_SODIUM_CHLORIDE,
    SR_SALT_POTASSIUM_CHLORIDE,
    SR_SALT_POTASSIUM_NITRATE,
    SR_SALT_POTASSIUM_SULPHATE,
};
#define SR_SALT_COUNT 7

/* English name, lower case; NULL for an unknown salt. */
const char *sr_salt_name(enum sr_salt salt);

/* Humidity over the saturated solution, 0..50 degC. */
SR_MUST_USE enum sr_rc sr_salt_rh(enum sr_salt salt, double t_c, double *out_pct);

/* Standard uncertainty of the fixed point itself at 20-25 degC, percent RH (from memory).
 * SR_NO_SOLUTION for those of which none is known here: potassium carbonate and nitrate. */
SR_MUST_USE enum sr_rc sr_salt_uncertainty(enum sr_salt salt, double *out_pct);

/* Corrected humidity = slope x raw + offset. */
struct sr_salt_correction {
    double slope, offset_pct;
};

/* From two fixed points: read_..._pct is what the sensor said at true_..._pct, all 0..100.
 * SR_THIN if the true values lie less than 30 apart; SR_NO_SOLUTION if the slope comes out beyond
 * 0.8..1.25: that is no calibration but a broken sensor (both project choices). */
SR_MUST_USE enum sr_rc sr_salt_two_point(double read_a_pct, double true_a_pct,
                                         double read_b_pct, double true_b_pct,
                                         struct sr_salt_correction *out);

/* Applies it to a reading (-20..120 %) and clamps to 0..100. Correct at the sensor's own
 * temperature; to move a humidity to another temperature go through vapour pressure. */
SR_MUST_USE enum sr_rc sr_salt_correct(const struct sr_salt_correction *c, double raw_pct,
                                       double *out_pct);

#endif
