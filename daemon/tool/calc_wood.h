/* calc_wood.h - `stillroom calc wood`: where wood comes to rest, how far it moves, how long it takes. */
#ifndef TOOL_CALC_WOOD_H
#define TOOL_CALC_WOOD_H

int calc_wood_main(int argc, char **argv);

#endif
