/* message.h - the words in which a person is told of an alarm.
 *
 * A message says what, since when and how far; what that threatens here; what the trade usually
 * does, marked as common practice; that the conservator decides. Its first line can be read on a
 * locked phone, and the whole has less than ninety words.
 *
 * Threads: pure, but for the process's time zone (base/clock.h).
 */
#ifndef WATCH_MESSAGE_H
#define WATCH_MESSAGE_H

#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "site/site.h"
#include "watch/words.h"

/* Stored by number: never renumber. */
enum message_kind {
    MESSAGE_NONE = 0,
    MESSAGE_RAISED = 1,
    MESSAGE_RETURNED = 2, /* the condition is over */
};

/* Writes subject and body of one alarm's message. `reason` says why it is over, where that is
 * not the air; NULL otherwise. */
void message_write(enum message_kind kind, const struct words_alarm *alarm, int64_t now_s,
                   const char *reason, struct buf *subject, struct buf *body);

struct message_part {
    enum site_priority priority;
    const char *subject, *body;
};

/* Several alarms of one room in one message: the gravest leads and gives the advice, the others
 * are told in a line each, up to three of them. One part comes out as it is. */
void message_join(const struct message_part *parts, size_t count, struct buf *subject,
                  struct buf *body);

#endif
