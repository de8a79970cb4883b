/* backup.h - a consistent copy of the database while it is being written. */
#ifndef STORE_BACKUP_H
#define STORE_BACKUP_H

#include "base/rc.h"

/* Copies `from` to `to`, which must not exist (RC_CONFLICT), and checks the copy. A copy that
 * could not be finished is removed. */
MUST_USE enum rc backup_write(const char *from, const char *to);

#endif
