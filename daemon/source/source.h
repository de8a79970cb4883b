/* source.h - a bus: one thread that asks its instruments on an absolute schedule.
 *
 * A source knows only the sink it was given and the configuration it reads. Other kinds of
 * source (a file, MQTT) offer the same functions through struct source_kind.
 *
 * Schedule: the slots of an instrument lie on the UTC grid of its `every_s`, each in the
 *           middle of its second (t + 0.5 s), so two polls never share a stamp. Slots that a
 *           slow answer ran over are put as gaps, not made up in a burst.
 * Threads:  source_start, source_stop from main; source_status from any.
 */
#ifndef SOURCE_SOURCE_H
#define SOURCE_SOURCE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/rc.h"
#include "site/site.h"
#include "source/sink.h"

enum {
    SOURCE_READS_MAX = 16
};

/* One instrument as its bus sees it. channel[i] is the store's id for reads[i]. */
struct source_instrument {
    const struct site_instrument *config; /* borrowed; outlives the source */
    uint32_t channel[SOURCE_READS_MAX];
};

struct source_config {
    const struct site_bus *bus;                  /* borrowed; outlives the source */
    const struct source_instrument *instruments; /* copied */
    size_t instrument_count;
    bool
        clock_trusted; /* else readings are flagged while the kernel's clock is unsynchronised */
};

struct source_unit_status {
    const char *instrument; /* name; borrowed from the site */
    enum gap_reason last;   /* GAP_NONE if the last poll gave its values */
    uint8_t detail;
    int64_t last_good_s;      /* UTC; 0 if never */
    uint64_t polls, failures; /* slots so far, and how many of them gave a gap */
};

struct source_status {
    const char *bus;
    bool connected;
    size_t unit_count;
    struct source_unit_status units[247];
};

struct source;

MUST_USE enum rc source_start(const struct source_config *config, struct sink *sink,
                              struct source **out);
void source_stop(struct source *source); /* joins the thread within one response timeout */
void source_status(struct source *source, struct source_status *out);

/* When the thread last moved (monotonic ms): the watchdog is fed only while all move. */
int64_t source_moved_ms(struct source *source);

#endif
