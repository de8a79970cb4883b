/* schema.h - the tables, and the road from every older version to this one. */
#ifndef STORE_SCHEMA_H
#define STORE_SCHEMA_H

#include "store/db.h"

enum {
    SCHEMA_VERSION = 2
};

/* Brings a database to SCHEMA_VERSION. RC_NEWER, and nothing touched, if it is beyond it;
 * RC_CORRUPT if it is a database of something else. */
MUST_USE enum rc schema_bring_up(struct db *db);

#endif
