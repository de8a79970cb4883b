/* calc_mould.h - `stillroom calc mould`: how far mould would get on a surface kept like this. */
#ifndef TOOL_CALC_MOULD_H
#define TOOL_CALC_MOULD_H

int calc_mould_main(int argc, char **argv);

#endif
