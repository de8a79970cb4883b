/* fitness.h - is the air of a zone fit for varnishing, gesso, glue, gilding, retouching: now,
 * and until morning? Judged by stillroom/coating.h from the latest readings and from the worst
 * of the last seven nights, as quarter-hour means.
 *
 * Threads: any.
 */
#ifndef HTTP_FITNESS_H
#define HTTP_FITNESS_H

#include <stddef.h>
#include <stdint.h>

#include "base/json.h"
#include "base/rc.h"

struct context;
struct fitness;
struct live_zone;

MUST_USE enum rc fitness_open(size_t zone_count, struct fitness **out);
void fitness_close(struct fitness *fitness);

/* A list, one entry a work, or null where no such work is done: only drying rooms and benches
 * have one. `index` is the zone's place in the site file. New reference. */
json_t *fitness_json(struct context *context, size_t index, const struct live_zone *zone,
                     int64_t now_s);

#endif
