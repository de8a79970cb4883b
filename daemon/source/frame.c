/* frame.c - see frame.h. */
#include "source/frame.h"

enum {
    REFUSED = 0x80 /* set in the function of an exception */
};

uint8_t frame_function(enum site_table table)
{
    switch (table) {
    case TABLE_COIL:
        return 1;
    case TABLE_DISCRETE:
        return 2;
    case TABLE_HOLDING:
        return 3;
    case TABLE_INPUT:
        break;
    }
    return 4;
}

static bool of_bits(enum site_table table)
{
    return table == TABLE_COIL || table == TABLE_DISCRETE;
}

unsigned frame_most(enum site_table table)
{
    return of_bits(table) ? FRAME_BITS_MAX : FRAME_REGISTERS_MAX;
}

void frame_ask(const struct frame_request *request, uint8_t out[FRAME_ASK])
{
    out[0] = (uint8_t)request->unit;
    out[1] = frame_function(request->table);
    out[2] = (uint8_t)(request->address >> 8);
    out[3] = (uint8_t)(request->address & 0xff);
    out[4] = (uint8_t)(request->count >> 8);
    out[5] = (uint8_t)(request->count & 0xff);
}

static size_t data_size(const struct frame_request *request)
{
    return of_bits(request->table) ? (request->count + 7u) / 8 : request->count * 2u;
}

size_t frame_answer_size(const struct frame_request *request)
{
    return 3 + data_size(request);
}

static void unpack(const struct frame_request *request, const uint8_t *data, uint16_t *words)
{
    for (unsigned i = 0; i < request->count; i++)
        words[i] = of_bits(request->table) ? (uint16_t)(data[i / 8] >> (i % 8) & 1)
                                           : (uint16_t)(data[2 * i] << 8 | data[2 * i + 1]);
}

void frame_check(const struct frame_request *request, const uint8_t *body, size_t len,
                 struct frame_answer *out)
{
    uint8_t function = frame_function(request->table);
    out->gap = GAP_GARBLED;
    out->detail = 0;
    if (len < FRAME_REFUSAL)
        return;
    if (body[0] != request->unit) {
        out->gap = GAP_WRONG_UNIT;
    } else if (body[1] == (function | REFUSED) && len == FRAME_REFUSAL) {
        out->gap = GAP_EXCEPTION;
        out->detail = body[2];
    } else if (body[1] == function && body[2] == data_size(request) &&
               len == frame_answer_size(request)) {
        out->gap = GAP_NONE;
        unpack(request, body + 3, out->words);
    }
}

uint16_t frame_crc(const uint8_t *data, size_t len)
{
    uint16_t crc = 0xffff;
    for (size_t i = 0; i < len; i++) {
        crc ^= data[i];
        for (int bit = 0; bit < 8; bit++)
            crc = crc & 1 ? (uint16_t)(crc >> 1 ^ 0xa001) : (uint16_t)(crc >> 1);
    }
    return crc;
}
