/* mould_step.h - inside the library: one step of the mould index, on values already checked. */
#ifndef LIB_MOULD_STEP_H
#define LIB_MOULD_STEP_H

#include "internal.h"
#include "stillroom/mould.h"

/* As sr_mould_step, whose checks the caller has done: returns the new index and moves *dry_h. The
 * two halves of a state go apart, as copying the whole at once waits for both to be written. */
LIB_INTERNAL double sr_mould_step_checked(const struct sr_mould_class *c, double decline,
                                          double t_c, double rh_pct, double dt_h, double index,
                                          double *dry_h);

LIB_INTERNAL bool sr_mould_step_state_ok(const struct sr_mould_state *state);

#endif
