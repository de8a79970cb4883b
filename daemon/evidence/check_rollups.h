/* check_rollups.h - the rollups of a channel against its day file: charts and reports are made from
 * them, and they are not signed themselves. Those of derived quantities are not looked at.
 */
#ifndef EVIDENCE_CHECK_ROLLUPS_H
#define EVIDENCE_CHECK_ROLLUPS_H

#include <stdint.h>

#include "base/buf.h"
#include "base/rc.h"
#include "evidence/findings.h"

struct reader;

MUST_USE enum rc check_rollups(struct reader *reader, struct findings *findings,
                               const char *place, uint32_t channel, int64_t day,
                               const struct buf *file);

#endif
