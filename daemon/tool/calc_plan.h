/* calc_plan.h - `stillroom calc plan`: a stepwise way back for damp wood. */
#ifndef TOOL_CALC_PLAN_H
#define TOOL_CALC_PLAN_H

int calc_plan_main(int argc, char **argv);

#endif
