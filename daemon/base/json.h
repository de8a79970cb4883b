/* json.h - JSON through jansson; everyone else includes this, never jansson.h itself. */
#ifndef BASE_JSON_H
#define BASE_JSON_H

#include <jansson.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/quantity.h"

/* Compact text of a value into a buffer, reals to at most 9 digits. */
void json_put(struct buf *out, const json_t *value);

/* A number of a quantity with its own decimals, or null if `known` is false. New reference. */
json_t *json_quantity(enum quantity q, int64_t value, bool known);

#endif
