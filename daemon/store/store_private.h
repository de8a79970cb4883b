/* store_private.h - what the files of the writer share. */
#ifndef STORE_STORE_PRIVATE_H
#define STORE_STORE_PRIVATE_H

#include "store/db.h"
#include "store/store.h"

struct store {
    struct db db;
    char *path;         /* owned */
    int lock;           /* descriptor of PATH.lock, held with flock */
    int64_t next_seq;   /* of tail */
    struct buf scratch; /* packed bytes */
};

#endif
