/* publish.h - the recorder's side of live.h: what it shows, after each commit. */
#ifndef RECORDER_PUBLISH_H
#define RECORDER_PUBLISH_H

#include "recorder/live.h"
#include "recorder/roster.h"

enum {
    QUARTERS_KEPT_S = 3 * 3600
}; /* of the day before, so that a trend crosses midnight */

MUST_USE enum rc live_open(const struct roster *roster, struct live **out);
void live_close(struct live *live);

/* Everything between the two is one publication; generation rises at its end. */
void live_begin(struct live *live);
void live_end(struct live *live);

/* Inside a publication. Memory that runs out is logged once and costs the chart of today, not
 * the record: from then on live_whole is false, and what is kept here must be forgotten and put
 * again from the store before a day is closed from it. */
void live_put_reading(struct live *live, int channel, int64_t t_s, int32_t value,
                      uint16_t flags);
void live_put_derived(struct live *live, int zone, enum quantity q, int64_t t_s, int32_t value);
void live_put_quiet(struct live *live, int channel, enum gap_reason reason, uint8_t detail,
                    int64_t since_s);
void live_put_alarm(struct live *live, size_t limit, const struct live_alarm *alarm);

/* A derived value could not even be kept until now. */
void live_miss(struct live *live);
bool live_whole(const struct live *live);
/* Forgets what lies in open days, to be put again; then it is whole. */
void live_forget_open(struct live *live);

/* Counts what the sources asked, outside a publication: a poll that failed changes nothing else
 * that is shown. */
void live_count_polls(struct live *live, const struct reading *readings, size_t count);

/* Forgets what lies in closed days. */
void live_cut(struct live *live, int64_t open_from_s);

/* For closing a day, which only the publishing thread does: no lock is needed to read. */
struct daybuf;
struct quarters;
const struct daybuf *live_daybuf(const struct live *live, int channel);
const struct quarters *live_channel_quarters(const struct live *live, int channel);
const struct quarters *live_zone_quarters(const struct live *live, int zone, enum quantity q);

/* The status as last published, for the publishing thread to alter and put again. */
struct live_status *live_status_draft(struct live *live);

#endif
