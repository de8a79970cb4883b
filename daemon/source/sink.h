/* sink.h - where a source puts what it read, and what it could not read.
 *
 * A source knows nothing else of the house. For every slot of every channel it puts exactly
 * one reading: a value, or the reason why there is none.
 */
#ifndef SOURCE_SINK_H
#define SOURCE_SINK_H

#include <stdint.h>

/* Why there is no value. Stored by number: never renumber. */
enum gap_reason {
    GAP_NONE = 0,          /* there is a value */
    GAP_NO_ANSWER = 1,     /* the unit did not answer in time */
    GAP_GARBLED = 2,       /* an answer with a wrong checksum, length or transaction */
    GAP_EXCEPTION = 3,     /* the unit refused (Modbus exception) */
    GAP_WRONG_UNIT = 4,    /* another unit answered */
    GAP_NO_CONNECTION = 5, /* the gateway refused or dropped the connection */
    GAP_NO_DEVICE = 6,     /* the serial device is not there */
    GAP_NO_VALUE = 7,      /* the code by which the instrument says "no value", or NaN */
    GAP_STOPPED = 8,       /* Stillroom was stopped */
    GAP_UNCLEAN = 9,       /* Stillroom ended without a clean stop: power cut or kill */
    GAP_OVERFLOW = 10,     /* the recorder could not write in time: disk full or too slow */
    GAP_IN_CHECK = 11,     /* taken down for a check or calibration */
    GAP_NEVER_READ = 12,   /* configured, but no reading has come yet */
    GAP_REMOVED = 13,      /* taken out of the site file */
    GAP_CLOCK = 15,        /* the clock was put forward */
    GAP_RESTING = 14,      /* a dead unit is asked less often so that the live ones keep pace */
    GAP_OVERRUN = 16,      /* the bus was busy with slow answers until the slot was over */
};

/* Flags of a reading. Stored by bit: never renumber. */
enum reading_flag {
    READING_OUT_OF_RANGE = 1 << 0, /* outside what the quantity can physically be */
    READING_JUMP = 1 << 1,         /* changed faster than air does; a lid or a door is real */
    READING_STUCK = 1 << 2,        /* has not moved for a day */
    READING_SUSPECT = 1 << 3,      /* a solvent is likely */
    READING_CLOCK = 1 << 4,        /* stamped while the clock was not synchronised */
    READING_IMPORTED = 1 << 5,
    READING_IN_CHECK = 1 << 6, /* an instrument in a salt jar does not log as the room */
};

struct reading {
    uint32_t channel; /* the store's id of the channel */
    uint16_t flags;   /* READING_CLOCK is the only one that a source sets */
    uint8_t gap;      /* enum gap_reason */
    uint8_t detail;   /* the exception code for GAP_EXCEPTION, else 0 */
    int32_t value;    /* integer at the quantity's power of ten; 0 where there is a gap */
    int64_t t_s;      /* the slot's second, UTC */
};

/* Threads: put may be called from any thread at once; it never blocks for long. */
struct sink {
    void (*put)(struct sink *sink, const struct reading *readings, unsigned count);
};

/* "did not answer" and so on, for people; never NULL. */
const char *gap_reason_text(enum gap_reason reason);

/* The word in the interface and in evidence: "no_answer"; never NULL. */
const char *gap_reason_word(enum gap_reason reason);

#endif
