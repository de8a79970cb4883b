/* studio.h - a small studio with simulated time for tests of the recorder: a site file in a
 * folder of its own, readings put by hand, steps of any length in no time. */
#ifndef TESTS_SUPPORT_STUDIO_H
#define TESTS_SUPPORT_STUDIO_H

#include <stdbool.h>
#include <stdint.h>

#include "recorder/recorder.h"
#include "site/site.h"

struct studio {
    char folder[64];
    char db[96];
    struct site *site;
    struct recorder *recorder;
    struct tick now;
    const struct courier *courier; /* NULL: messages wait */
    int commit_ms;                 /* 0: as the daemon; longer where a test runs days */
};

/* Makes the folder and reads a site file whose text may hold one %s for the store's path. */
void studio_make(struct studio *s, const char *site_text, int64_t start_s);

/* Starts and stops the recorder at the studio's present moment. */
void studio_start(struct studio *s);
void studio_stop(struct studio *s);

/* Stops, reads another site file and starts again, as a reload does. */
void studio_change(struct studio *s, const char *site_text);

/* Stops it if it runs, and removes the folder. */
void studio_remove(struct studio *s);

/* Lets time pass in steps of at most a second of simulated time each, up to `to_s`. */
void studio_until(struct studio *s, int64_t to_s);

/* Puts one reading of an instrument's i-th quantity at a slot. */
void studio_put(struct studio *s, size_t instrument, size_t read, int64_t t_s, double value);
void studio_fail(struct studio *s, size_t instrument, size_t read, int64_t t_s,
                 enum gap_reason reason);

/* One integer, or text, from the database by its own connection. */
int64_t studio_int(const struct studio *s, const char *sql);
void studio_text(const struct studio *s, const char *sql, char *out, size_t size);

/* Changes the database behind the recorder's back. */
void studio_run(const struct studio *s, const char *sql);

/* Whether two studios recorded the same: day files, rollups, states, alarms, today's readings. */
bool studio_same(const struct studio *a, const struct studio *b);

#endif
