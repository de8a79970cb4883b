/* sink.c - see sink.h. */
#include "source/sink.h"

#include <stddef.h>

static const struct {
    const char *word, *text;
} reasons[] = {
    [GAP_NONE] = {"none", "none"},
    [GAP_NO_ANSWER] = {"no_answer", "the instrument did not answer"},
    [GAP_GARBLED] = {"garbled", "the answer was garbled"},
    [GAP_EXCEPTION] = {"exception", "the instrument refused the request"},
    [GAP_WRONG_UNIT] = {"wrong_unit", "another unit answered"},
    [GAP_NO_CONNECTION] = {"no_connection", "the gateway could not be reached"},
    [GAP_NO_DEVICE] = {"no_device", "the serial device was not there"},
    [GAP_NO_VALUE] = {"no_value", "the instrument had no value to give"},
    [GAP_STOPPED] = {"stopped", "Stillroom was stopped"},
    [GAP_UNCLEAN] = {"unclean", "Stillroom ended without a clean stop, as by a power cut"},
    [GAP_OVERFLOW] = {"overflow", "readings came faster than they could be written"},
    [GAP_IN_CHECK] = {"in_check", "the instrument was being checked"},
    [GAP_NEVER_READ] = {"never_read", "no reading had come yet"},
    [GAP_REMOVED] = {"removed", "the instrument was taken out of the site file"},
    [GAP_CLOCK] = {"clock", "the clock was put forward"},
    [GAP_OVERRUN] = {"overrun", "the bus was busy with slow answers"},
    [GAP_RESTING] = {"resting", "the instrument had not answered and was asked less often"},
};

const char *gap_reason_text(enum gap_reason reason)
{
    return (size_t)reason < sizeof reasons / sizeof *reasons ? reasons[reason].text : "unknown";
}

const char *gap_reason_word(enum gap_reason reason)
{
    return (size_t)reason < sizeof reasons / sizeof *reasons ? reasons[reason].word : "unknown";
}
