/* calc_air.h - `stillroom calc`: what temperature and humidity say together. */
#ifndef TOOL_CALC_AIR_H
#define TOOL_CALC_AIR_H

int calc_air_main(int argc, char **argv);

#endif
