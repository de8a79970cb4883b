/* probe.h - `stillroom probe BUS`: which units answer on a bus, and what their registers hold.
 *
 * It reads only, one request at a time with the bus's own manners, and leaves a serial device
 * alone that another master holds: two of them on one line hear each other's answers.
 */
#ifndef TOOL_PROBE_H
#define TOOL_PROBE_H

#include "site/site.h"

int probe_main(const struct site *site, int argc, char **argv);

#endif
