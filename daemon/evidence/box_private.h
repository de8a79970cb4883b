/* box_private.h - what the two kinds of box share. */
#ifndef EVIDENCE_BOX_PRIVATE_H
#define EVIDENCE_BOX_PRIVATE_H

#include "evidence/box.h"

struct box_item {
    char *name;       /* owned */
    const char *data; /* borrowed from the mapping; NULL: in the folder */
    size_t len;
    bool odd; /* no regular file */
};

struct box {
    char *path;             /* owned; of the folder */
    struct box_item *items; /* owned; in order of name */
    size_t count, cap;
    void *map; /* owned; the tar, or NULL */
    size_t map_len;
};

/* The empty box's items from a folder, from a mapped tar. */
MUST_USE enum rc box_fill_from_folder(struct box *box);
MUST_USE enum rc box_fill_from_tar(struct box *box, struct findings *findings);

/* Copies `item`, whose name is given apart. */
MUST_USE enum rc box_add(struct box *box, const char *name, const struct box_item *item);

#endif
