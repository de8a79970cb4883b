/* line.h - the wire of one bus: connect, ask, and the manners that keep answers in step.
 *
 * Manners:  libmodbus never recovers by itself. After any error a serial line is kept quiet for
 *           one response timeout and flushed, a TCP connection is closed, so that a late answer
 *           cannot be taken for the next one. An answer may take the response timeout, and
 *           from its first byte on its own length on the wire and the byte timeout at most:
 *           a peer that drips bytes holds nobody.
 * Errors:   a gap with its reason; the line logs what happens to the line itself, once.
 * Threads:  one thread uses a line. A byte on `wake_fd` ends any wait at once.
 */
#ifndef SOURCE_LINE_H
#define SOURCE_LINE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/rc.h"
#include "source/frame.h"

struct line;

/* Opens nothing yet. wake_fd may be -1. */
MUST_USE enum rc line_new(const struct site_bus *bus, int wake_fd, struct line **out);
void line_free(struct line *line);

/* Connects if need be and if the pause after the last failure is over. False: no unit can be
 * asked now, for this reason; GAP_STOPPED as in line_ask. */
bool line_ready(struct line *line, enum gap_reason *why);
bool line_connected(const struct line *line);

/* What went wrong with the line last, for people; "" if nothing did. */
const char *line_fault(const struct line *line);

/* True if that was another program that holds the serial device. */
bool line_taken(const struct line *line);

/* Asks once. GAP_STOPPED if the wake descriptor became readable. */
void line_ask(struct line *line, const struct frame_request *request, int response_ms,
              struct frame_answer *out);

/* When the line last began something (monotonic ms), to show that its thread moves although a
 * unit may take long over many requests. From any thread. */
int64_t line_moved_ms(const struct line *line);

/* What the line must be kept quiet for after an error: part of what a dead unit costs. */
int line_quiet_ms(const struct line *line);

#endif
