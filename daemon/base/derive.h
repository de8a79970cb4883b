/* derive.h - the derived quantities that follow from one moment's air alone.
 *
 * The formulas are libstillroom's; here they meet the integers in which values are kept, so
 * that the recorder and a chart made years later give the same figure.
 */
#ifndef BASE_DERIVE_H
#define BASE_DERIVE_H

#include <stdbool.h>
#include <stdint.h>

#include "base/quantity.h"

/* dew_point, absolute_humidity or emc from temperature and humidity as stored; false for any
 * other quantity, and where the formula does not hold for these values. */
bool derive_air(enum quantity q, int32_t temperature, int32_t humidity, int32_t *out);

/* Humidity at a surface, and the surface's margin above the dew point of the air. */
bool derive_surface(enum quantity q, int32_t temperature, int32_t humidity, int32_t surface,
                    int32_t *out);

#endif
