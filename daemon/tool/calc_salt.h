/* calc_salt.h - `stillroom calc salt`: saturated-salt fixed points, and a correction from two of them. */
#ifndef TOOL_CALC_SALT_H
#define TOOL_CALC_SALT_H

int calc_salt_main(int argc, char **argv);

#endif
