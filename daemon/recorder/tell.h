/* tell.h - who is told of an alarm's transition: rows of the outbox, in its transaction.
 *
 * Each person is told once that it was raised, and once that it is over. What happens in one
 * room within the hold leaves as one message; what is over before its message left is told as
 * over, alone.
 */
#ifndef RECORDER_TELL_H
#define RECORDER_TELL_H

#include "base/rc.h"
#include "recorder/batch.h"
#include "site/site.h"
#include "store/store.h"

/* After the transition was written: its occurrence is known. */
MUST_USE enum rc tell_put(struct store *store, const struct site *site,
                          const struct batch_alarm *alarm);

#endif
