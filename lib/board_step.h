/* board_step.h - inside the library: one step of the board solver, on values already checked. */
#ifndef LIB_BOARD_STEP_H
#define LIB_BOARD_STEP_H

#include "internal.h"
#include "stillroom/board.h"

#define BOARD_MOISTURE_MAX_PCT 200.0

/* d_m2_s: the coefficient at this temperature, before the moisture has its say. dt_s over 0. */
LIB_INTERNAL void sr_board_step_checked(struct sr_board *b, double emc_from_pct,
                                        double emc_to_pct, double d_m2_s, double dt_s);

LIB_INTERNAL void sr_board_step_read(const struct sr_board *b, struct sr_board_answer *out);

#endif
