/* order.h - what a courier is handed: where a message goes and what it says, as JSON.
 *
 * {"deliver": "mail", "to", "studio", "message_id", "kind", "subject", "body", "created", "server":
 * {"host", "port", "security", "from", "user", "password_file", "ca_file"}}; "webhook" with
 * "url" and "secret_file", "command" with "arguments". Secrets are named by their file only.
 */
#ifndef RECORDER_ORDER_H
#define RECORDER_ORDER_H

#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "site/site.h"
#include "watch/message.h"

struct order {
    const char *message_id;
    int64_t created_s;
    enum message_kind kind;
    const struct message_part *parts;
    size_t part_count;
};

void order_write(const struct order *order, const struct site *site,
                 const struct site_recipient *to, struct buf *out);

#endif
