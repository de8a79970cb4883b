/* fuzz_source_answer.c - any bytes as the answer to any request: what is taken fits the request to
 * the last byte, and no content of registers becomes a value that it is not.
 *
 * Input: unit, table, count (two bytes), type, order, then the body of the answer. */
#include <math.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

#include "source/decode.h"
#include "source/frame.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

static void check_values(const struct frame_request *request, const struct frame_answer *answer,
                         enum site_type type, enum site_word_order order)
{
    const struct site_read read = {
        .quantity = QUANTITY_TEMPERATURE, .type = type, .order = order, .scale = 0.1};
    for (unsigned at = 0; at + decode_width(type) <= request->count; at++) {
        int32_t value = INT32_MIN;
        double raw = decode_raw(type, order, answer->words + at);
        enum gap_reason gap = decode_read(&read, answer->words + at, &value);
        must(gap == GAP_NONE || gap == GAP_NO_VALUE, "a value or none");
        must(gap == GAP_NO_VALUE || isfinite(raw), "only a finite number is a value");
        must(gap == GAP_NO_VALUE || fabs(value - raw * 10) <= 0.5 + 1e-6 * fabs(raw),
             "a value is its number");
        must(gap == GAP_NONE || value == INT32_MIN, "what is no value is left alone");
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (size < 6)
        return 0;
    struct frame_request request = {.unit = data[0], .table = (enum site_table)(data[1] % 4)};
    unsigned count = (unsigned)data[2] << 8 | data[3];
    request.count = (uint16_t)(count % frame_most(request.table) + 1);
    enum site_type type = (enum site_type)(data[4] % (TYPE_FLOAT64 + 1));
    enum site_word_order order = (enum site_word_order)(data[5] % (WORDS_DCBA + 1));
    const uint8_t *body = data + 6;
    size_t len = size - 6;
    struct frame_answer answer;
    frame_check(&request, body, len, &answer);
    switch (answer.gap) {
    case GAP_NONE:
        must(body[0] == request.unit, "the unit that was asked");
        must(body[1] == frame_function(request.table), "the function that was asked for");
        must(len == frame_answer_size(&request), "as long as was asked for");
        check_values(&request, &answer, type, order);
        break;
    case GAP_EXCEPTION:
        must(len == FRAME_REFUSAL && answer.detail == body[2], "an exception is three bytes");
        break;
    default:
        must(answer.gap == GAP_GARBLED || answer.gap == GAP_WRONG_UNIT, "a reason");
    }
    return 0;
}
