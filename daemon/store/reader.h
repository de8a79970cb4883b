/* reader.h - what the files of the reader's side share. */
#ifndef STORE_READER_H
#define STORE_READER_H

#include "base/buf.h"
#include "store/db.h"
#include "store/series.h"

struct reader {
    struct db db;
    int64_t bound_ms; /* 0: none */
    struct buf text;  /* an inflated day file */
    struct buf other; /* and a second one beside it */
};

/* Starts the clock of one question. */
void reader_ask(struct reader *reader);

/* First UTC second that lies in no closed day. */
MUST_USE enum rc reader_open_from(struct reader *reader, int64_t *out_s);

enum {
    READER_SPANS = 256
};

/* A stretch of time in which one series (and, for what is measured, one channel) gives a
 * zone's quantity. */
struct reader_span {
    uint32_t series, channel; /* channel 0: derived */
    unsigned steps;
    int every_s;
    int64_t from_s, to_s;
};

/* The spans of a zone's quantity that touch [from, to), in order. RC_NOT_FOUND if it never had
 * one. */
MUST_USE enum rc reader_spans(struct reader *reader, uint32_t zone, enum quantity quantity,
                              int64_t from_s, int64_t to_s, struct reader_span *out,
                              size_t *out_count);

/* Calls back with the readings of a channel in [from, to) from closed days, in order. */
MUST_USE enum rc
reader_days(struct reader *reader, uint32_t channel, int64_t from_s, int64_t to_s,
            enum rc (*each)(void *context, int64_t t_s, int32_t value, unsigned flags),
            void *context);

#endif
