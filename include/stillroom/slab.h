/* slab.h - closed answers for moisture moving through a flat board.
 *
 * One-dimensional diffusion with a constant diffusion coefficient, both faces open and stepped at
 * once from one humidity to another. A board with one sealed face is half of one twice as thick.
 * For measured humidity, or a coefficient that changes with moisture, see board.h.
 *
 * Units:   lengths m, times s, diffusion coefficient m2/s; fractions 0..1 of the whole change.
 *          fo = D t / L^2 with the whole thickness L; fo_half = D t / (L/2)^2.
 * Range:   fo 0..1e6; thickness 1e-5..1 m; D 1e-14..1e-6; faces 1 or 2.
 * Errors:  SR_RANGE outside the range, NaN and infinity included; the result is left alone.
 * Source:  Crank, The Mathematics of Diffusion (1975), chapter 4: plane sheet, without and with
 *          surface evaporation.
 * Uncertainty: all of it lies in D, which is known to a factor of ten at best (board.h). Show
 *          ranges over D, never one date.
 * Threads: pure functions - no state, no allocation.
 */
#ifndef STILLROOM_SLAB_H
#define STILLROOM_SLAB_H

#include "stillroom/rc.h"

/* Share of the whole change that the mean moisture has made. */
SR_MUST_USE enum sr_rc sr_slab_mean(double fo, double *out);

/* Share of the whole change that the moisture at mid-thickness has made. */
SR_MUST_USE enum sr_rc sr_slab_centre(double fo, double *out);

/* The fo at which the mean, or the centre, has made this share (0 or more, below 1). Beyond a
 * share of 1 - 1e-12 the series has no digits left: SR_NO_SOLUTION. */
SR_MUST_USE enum sr_rc sr_slab_fo_for_mean(double share, double *out_fo);
SR_MUST_USE enum sr_rc sr_slab_fo_for_centre(double share, double *out_fo);

/* Root number n (1..1000) of b tan b = bi, bi 1e-6..1e9: bi = S (L/2) / D weighs the resistance
 * of the surface, with its coefficient S in m/s, against that of the board. */
SR_MUST_USE enum sr_rc sr_slab_root(double bi, int n, double *out_b);

/* As sr_slab_mean, with a resisting surface. fo_half is 0 or 1e-5..1e6: below that hundreds of
 * terms would be needed to describe an instant that means nothing here. */
SR_MUST_USE enum sr_rc sr_slab_mean_resisted(double bi, double fo_half, double *out);

/* Seconds until the mean moisture has made this share of its change. */
SR_MUST_USE enum sr_rc sr_slab_response_s(double thickness_m, int faces, double d_m2_s,
                                          double share, double *out_s);

/* How much of a periodic swing in humidity (a sine of period_s, 1..1e10) reaches the mean
 * moisture: 1 all of it, 0 none. */
SR_MUST_USE enum sr_rc sr_slab_gain(double thickness_m, int faces, double d_m2_s,
                                    double period_s, double *out);

#endif
