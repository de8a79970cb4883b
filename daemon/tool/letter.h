/* letter.h - a mail as it goes over the wire: RFC 5322 headers, UTF-8 text as quoted-printable
 * (RFC 2045), headers beyond ASCII as encoded words (RFC 2047). Lines end in CR LF.
 */
#ifndef TOOL_LETTER_H
#define TOOL_LETTER_H

#include <stdint.h>

#include "base/buf.h"

struct letter {
    const char *from, *to; /* addresses */
    const char *sender;    /* the name beside `from` */
    const char *subject, *body;
    const char *message_id; /* without angle brackets */
    int64_t written_s;
};

void letter_write(const struct letter *letter, struct buf *out);

#endif
