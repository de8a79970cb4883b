/* frame.h - a Modbus read request and the check of what came back.
 *
 * "Body" is what RTU and TCP have in common: unit, function, data; without the checksum of the
 * one and the header of the other. After: MODBUS Application Protocol Specification V1.1b3.
 *
 * Threads: pure functions.
 */
#ifndef SOURCE_FRAME_H
#define SOURCE_FRAME_H

#include <stddef.h>
#include <stdint.h>

#include "site/site.h"
#include "source/sink.h"

enum {
    FRAME_REGISTERS_MAX = 125, /* of one request; section 6.3 */
    FRAME_BITS_MAX = 2000,     /* section 6.1 */
    FRAME_ASK = 6,             /* bytes of a request's body */
    FRAME_REFUSAL = 3,         /* bytes of an exception's body */
};

struct frame_request {
    int unit;
    enum site_table table;
    uint16_t address, count;
};

struct frame_answer {
    enum gap_reason gap;
    uint8_t detail;                 /* the exception code */
    uint16_t words[FRAME_BITS_MAX]; /* a register or a bit each; valid for GAP_NONE */
};

uint8_t frame_function(enum site_table table);
unsigned frame_most(enum site_table table); /* how many one request may ask for */

void frame_ask(const struct frame_request *request, uint8_t out[FRAME_ASK]);

/* Bytes of the body of a full answer. */
size_t frame_answer_size(const struct frame_request *request);

/* Takes the body of an answer only if it fits the request to the last byte: unit, function,
 * length. Anything else is a gap with its reason. */
void frame_check(const struct frame_request *request, const uint8_t *body, size_t len,
                 struct frame_answer *out);

/* The checksum of an RTU frame, sent low byte first (Modbus over serial line V1.02, 6.2.2). */
uint16_t frame_crc(const uint8_t *data, size_t len);

#endif
