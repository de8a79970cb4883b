/* store.h - the one read-write connection: what the recorder writes, and how it starts again.
 *
 * Errors:  RC_FULL and RC_READ_ONLY leave the transaction to be rolled back and tried again.
 * Owner:   store_close releases the connection and the lock.
 * Threads: the recorder's only.
 */
#ifndef STORE_STORE_H
#define STORE_STORE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/quantity.h"
#include "base/rc.h"
#include "base/seal.h"

struct store;

/* Opens or makes the database at `path`, takes its lock (PATH.lock; RC_BUSY if another process
 * has it) and brings its tables up to date. Missing parent folders are an error. */
MUST_USE enum rc store_open(const char *path, struct store **out);
void store_close(struct store *store);

MUST_USE enum rc store_begin(struct store *store);
MUST_USE enum rc store_commit(struct store *store);
void store_rollback(struct store *store);

/* meta: small facts by name. */
MUST_USE enum rc store_meta_get(struct store *store, const char *key, int64_t missing,
                                int64_t *out);
MUST_USE enum rc store_meta_put(struct store *store, const char *key, int64_t value);

/* -- what is there: zones, instruments, channels (catalogue.c) -- */

MUST_USE enum rc store_zone(struct store *store, const char *name, const char *title,
                            const char *purpose, uint32_t *out_id);
MUST_USE enum rc store_instrument(struct store *store, const char *name, const char *serial,
                                  uint32_t *out_id);
MUST_USE enum rc store_channel(struct store *store, uint32_t instrument, enum quantity quantity,
                               uint32_t *out_id);

/* Says where an instrument stands from `t` on; does nothing if it stands so already. */
MUST_USE enum rc store_place(struct store *store, uint32_t instrument, uint32_t zone,
                             const char *words, int64_t t_s);

/* Says which channel gives a zone's quantity from `t` on (0: none). Nothing past is changed. */
MUST_USE enum rc store_lead(struct store *store, uint32_t zone, enum quantity quantity,
                            uint32_t channel, int64_t t_s);

/* Calls back with each stretch of time, over but reaching beyond `since_s`, in which a channel
 * gave a zone's quantity. */
MUST_USE enum rc store_former_leads(struct store *store, int64_t since_s,
                                    void (*each)(void *context, uint32_t zone, uint32_t channel,
                                                 int64_t from_s, int64_t to_s),
                                    void *context);

/* Ends at `t` what is said of zones and instruments that are not in these lists (JSON arrays of
 * ids): a zone that is gone takes in nothing more, an instrument stands nowhere. */
MUST_USE enum rc store_gone(struct store *store, const char *zones, const char *instruments,
                            int64_t t_s);

/* The series of a channel (zone 0) or of a zone's derived quantity (channel 0) whose readings
 * come every `every_s`; a new series begins at t if that changed. A day's rollups are written
 * when it closes, to the series there is then: t is the start of the first open day. */
MUST_USE enum rc store_series(struct store *store, uint32_t channel, uint32_t zone,
                              enum quantity quantity, int every_s, int64_t t_s,
                              uint32_t *out_id, unsigned *out_steps);

/* Rollup steps at least eight intervals wide, a bit each: 900, 3600, 21600, 86400 s; the last two
 * alone for a mould index. */
enum {
    STORE_STEPS = 4
};
extern const int store_step_s[STORE_STEPS];
unsigned store_steps_for(enum quantity quantity, int every_s);

/* Keeps the site file in force; the same text twice in a row adds nothing. */
MUST_USE enum rc store_site_file(struct store *store, const void *text, size_t len,
                                 int64_t t_s);

/* -- readings of open days (tail.c) -- */

struct store_reading {
    uint32_t channel;
    uint16_t flags;
    int32_t value;
    int64_t t_s;
};

MUST_USE enum rc store_tail_put(struct store *store, const struct store_reading *r);
MUST_USE enum rc store_late_put(struct store *store, const struct store_reading *r,
                                int64_t received_s, int64_t day);
/* Gives the late readings that came before the store had a first day (day 0) to this day. */
MUST_USE enum rc store_late_adopt(struct store *store, int64_t day);

/* Calls back with every reading of the tail not before `from_s`, in the order they came. */
MUST_USE enum rc store_tail_each(struct store *store, int64_t from_s,
                                 void (*each)(void *context, const struct store_reading *r),
                                 void *context);

/* Calls back with each channel that has readings in the tail, with its present series. */
MUST_USE enum rc store_tail_channels(struct store *store,
                                     void (*each)(void *context, uint32_t channel,
                                                  enum quantity quantity, uint32_t series,
                                                  unsigned steps, int every_s),
                                     void *context);

/* Removes the readings before a time from the tail, once they lie in closed days. */
MUST_USE enum rc store_tail_cut(struct store *store, int64_t before_s);

/* -- gaps and the clock -- */

MUST_USE enum rc store_gap_open(struct store *store, uint32_t channel, int64_t from_s,
                                unsigned reason, unsigned detail, int64_t *out_id);
MUST_USE enum rc store_gap_close(struct store *store, int64_t id, int64_t to_s);
MUST_USE enum rc store_gap_forget(struct store *store, int64_t id); /* an empty one */
MUST_USE enum rc store_clock_step(struct store *store, int64_t t_s, int64_t step_ms);

struct store_gap {
    int64_t id;
    uint32_t channel;
    int64_t from_s, to_s; /* to 0: open */
    unsigned reason, detail;
};

/* Gaps that are open. */
MUST_USE enum rc store_gaps_open(struct store *store,
                                 void (*each)(void *context, const struct store_gap *gap),
                                 void *context);

/* -- states -- */

MUST_USE enum rc store_state_put(struct store *store, const char *kind, const char *scope,
                                 int64_t t_s, const double *values, size_t count);
/* Reads at most `max` doubles; *out_count 0 if there is no such state. */
MUST_USE enum rc store_state_get(struct store *store, const char *kind, const char *scope,
                                 int64_t *out_t_s, double *out, size_t max, size_t *out_count);

/* -- alarms -- */

struct store_alarm {
    const char *limit;
    unsigned state, priority;
    int64_t occurrence; /* 0: the next event begins a new one */
    int64_t since_s, until_s, shelved_until_s;
    double worst; /* NaN: none */
};

struct store_alarm_event {
    uint32_t zone; /* 0: none */
    int64_t t_s;
    unsigned from, to;
    double value;       /* as it was then, at the end the worst it had been; NaN: none */
    const char *person; /* NULL: the program */
    const char *reason;
};

/* Writes a transition and the state it leads to; fills in alarm->occurrence for a new one. */
MUST_USE enum rc store_alarm_put(struct store *store, struct store_alarm *alarm,
                                 const struct store_alarm_event *event);
MUST_USE enum rc store_alarms_each(struct store *store,
                                   void (*each)(void *context, const struct store_alarm *alarm),
                                   void *context);

/* Brings alarms back to normal whose limit is not in this list (a JSON array of names). */
MUST_USE enum rc store_alarms_gone(struct store *store, const char *limits, int64_t t_s);

/* -- messages that wait to leave (outbox.c) -- */

enum {
    STORE_NAME = 64, /* of a recipient, with its NUL */
    STORE_MESSAGE_ID = 320
};

/* One alarm's part of a message to one recipient. Those with the same id leave together. */
struct store_message {
    const char *message_id, *person;
    int64_t occurrence;
    uint32_t zone; /* 0: none */
    unsigned kind, priority;
    int64_t created_s, due_s;
    unsigned tries;
    bool refused; /* by the other side, for good */
    const char *subject, *body;
};

MUST_USE enum rc store_outbox_put(struct store *store, const struct store_message *m);

/* The id of a message that is still held at t, to the same person of the same kind and zone, ""
 * if there is none; and brings forward when it leaves. */
MUST_USE enum rc store_outbox_join(struct store *store, const struct store_message *m,
                                   char out_id[STORE_MESSAGE_ID], int64_t *out_due_s);

/* Who was told, or is about to be, of an occurrence; at most `max`. */
MUST_USE enum rc store_outbox_told(struct store *store, int64_t occurrence, unsigned kind,
                                   char (*out)[STORE_NAME], size_t max, size_t *out_count);

/* Takes back what is still held at t of an occurrence. */
MUST_USE enum rc store_outbox_withdraw(struct store *store, int64_t occurrence, int64_t t_s);

/* Lets what failed be tried again at t: of one person, or of everybody (NULL). */
MUST_USE enum rc store_outbox_hurry(struct store *store, const char *person, int64_t t_s);

/* Calls back with each part that waits, oldest first, without its text; false ends it. */
MUST_USE enum rc
store_outbox_waiting(struct store *store,
                     bool (*each)(void *context, const struct store_message *m), void *context);

/* Calls back with the parts of one message that wait, oldest first. */
MUST_USE enum rc store_outbox_parts(struct store *store, const char *message_id,
                                    bool (*each)(void *context, const struct store_message *m),
                                    void *context);

/* What became of a message: it was taken; it is tried again; nobody tries any longer. */
MUST_USE enum rc store_outbox_sent(struct store *store, const char *message_id, int64_t t_s);
MUST_USE enum rc store_outbox_failed(struct store *store, const char *message_id, int64_t due_s,
                                     bool refused, const char *error);
MUST_USE enum rc store_outbox_give_up(struct store *store, const char *message_id, int64_t t_s,
                                      const char *error);

/* Messages that wait, and those given up since a time. */
MUST_USE enum rc store_outbox_count(struct store *store, int64_t since_s, int64_t *out_waiting,
                                    int64_t *out_given_up);

/* -- closed days (days.c) -- */

/* Keeps one channel's signed text of one day; writing the same day again replaces it. */
MUST_USE enum rc store_day_put(struct store *store, uint32_t channel, int64_t day, size_t n,
                               const struct buf *text, uint8_t out_digest[SEAL_DIGEST]);
MUST_USE enum rc store_rollup_put(struct store *store, unsigned step, uint32_t series,
                                  int64_t t_s, int64_t n, int64_t min, int64_t max,
                                  int64_t sum);

/* Texts by digest: written once, however often they are put. */
MUST_USE enum rc store_text_put(struct store *store, const void *data, size_t len,
                                uint8_t out_digest[SEAL_DIGEST]);

/* What a day's MANIFEST lists beside the day files, as CSV text with a header line; empty if
 * there is nothing of the kind. `kind` is one of the names below. */
enum store_listing {
    LISTING_CHANNELS,
    LISTING_GAPS,
    LISTING_LATE,
    LISTING_ALARMS,
    LISTING_CLOCK,
    LISTING_COUNT
};
extern const char *const store_listing_name[LISTING_COUNT]; /* "gaps.csv" ... */
MUST_USE enum rc store_listing(struct store *store, enum store_listing kind, int64_t day,
                               struct buf *out);

/* Digests of the site files in force during a day, oldest first. */
MUST_USE enum rc store_site_files(struct store *store, int64_t day,
                                  void (*each)(void *context, const uint8_t *digest),
                                  void *context);

struct store_signed_day {
    int64_t day, number;
    uint8_t manifest[SEAL_DIGEST];
    const char *text;
    uint8_t signature[SEAL_SIGNATURE];
    uint8_t digest[SEAL_DIGEST]; /* of text */
    uint8_t key[SEAL_PUBLIC];
};

MUST_USE enum rc store_signed_put(struct store *store, const struct store_signed_day *day);
/* The newest signed day's number, day and digest; *out_number 0 if there is none. */
MUST_USE enum rc store_signed_last(struct store *store, int64_t *out_number, int64_t *out_day,
                                   uint8_t out_digest[SEAL_DIGEST]);
/* The digest of the signed day with this number, or RC_NOT_FOUND. */
MUST_USE enum rc store_signed_digest(struct store *store, int64_t number,
                                     uint8_t out_digest[SEAL_DIGEST]);

/* Bytes free on the store's file system and in all; false if that cannot be asked. */
bool store_space(struct store *store, int64_t *out_free, int64_t *out_all);

#endif
