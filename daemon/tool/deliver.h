/* deliver.h - `stillroom deliver`: carries one message and ends; the daemon's own child.
 *
 * stdin:  an order as recorder/order.h has it. argv[1]: the daemon's process id.
 * Exit:   0 taken, 1 not now, 2 not as it is; in the last two one line on stderr says why.
 */
#ifndef TOOL_DELIVER_H
#define TOOL_DELIVER_H

#include "base/buf.h"
#include "base/json.h"

enum deliver_exit {
    DELIVER_TAKEN = 0,
    DELIVER_LATER = 1,
    DELIVER_REFUSED = 2
};

int deliver_main(int argc, char **argv);

/* By curl (deliver_curl.c). */
enum deliver_exit deliver_mail(const json_t *order);
enum deliver_exit deliver_webhook(const json_t *order);

/* A text of the order, "" if there is none. */
const char *deliver_text(const json_t *order, const char *key);

/* What a file holds that others cannot read, without the line end; said on stderr if not. */
enum deliver_exit deliver_secret(const char *path, struct buf *out);

/* One line on stderr; returns how. */
enum deliver_exit deliver_fail(enum deliver_exit how, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

#endif
