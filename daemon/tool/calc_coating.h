/* calc_coating.h - `stillroom calc coating`: is this air fit for varnish, gesso, glue, gilding or
 * retouching, and how fast does it dry? */
#ifndef TOOL_CALC_COATING_H
#define TOOL_CALC_COATING_H

int calc_coating_main(int argc, char **argv);

#endif
