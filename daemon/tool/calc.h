/* calc.h - `stillroom calc`: what given conditions mean, without a site file or a database.
 *
 * Exit status: 0 done; 2 usage; 3 a value that is no number or outside its range. The sheet goes
 *              to stdout, talk to stderr.
 */
#ifndef TOOL_CALC_H
#define TOOL_CALC_H

/* argv[0] is "calc"; the argument after it may name one of the sheets of calc.c. */
int calc_main(int argc, char **argv);

#endif
