/* spec_published.c - the rule sets of spec.h. */
#include "stillroom/spec.h"

#include <math.h>
#include <string.h>

#define NONE ((double)NAN)
#define COMMON                                                                                 \
    .rh_1h_pct = NONE, .t_1h_k = NONE, .max_excursion_min = 0, .coverage_min_pct = 75.0,       \
    .percentile = 100.0, .reading = SR_SPEC_UNAGREED

#define NARROW "narrow convention, quoted by AICCM (2014)"

static const struct sr_spec published[] = {
    {.key = "iic-icom-cc-2014",
     .name = "IIC and ICOM-CC declaration 2014 (Bizot interim guideline)",
     .source = "IIC/ICOM-CC 2014, seen as quoted by others; verify the original",
     .rh_min_pct = 40.0,
     .rh_max_pct = 60.0,
     .t_min_c = 16.0,
     .t_max_c = 25.0,
     .rh_24h_pct = 10.0,
     .t_24h_k = NONE,
     COMMON},
    {.key = "aiccm-2014",
     .name = "AICCM interim guideline 2014",
     .source = "AICCM 2014",
     .rh_min_pct = 45.0,
     .rh_max_pct = 55.0,
     .t_min_c = 15.0,
     .t_max_c = 25.0,
     .rh_24h_pct = 5.0,
     .t_24h_k = 4.0,
     COMMON},
    {.key = "aiccm-2014-seasonal",
     .name = "AICCM interim guideline 2014, with seasonal drift",
     .source = "AICCM 2014",
     .rh_min_pct = 40.0,
     .rh_max_pct = 60.0,
     .t_min_c = 15.0,
     .t_max_c = 25.0,
     .rh_24h_pct = 5.0,
     .t_24h_k = 4.0,
     COMMON},
    {.key = "narrow-50-20",
     .name = "50 +/- 5 % and 20 +/- 2 degC",
     .source = NARROW,
     .rh_min_pct = 45.0,
     .rh_max_pct = 55.0,
     .t_min_c = 18.0,
     .t_max_c = 22.0,
     .rh_24h_pct = NONE,
     .t_24h_k = NONE,
     COMMON},
    {.key = "narrow-55-20",
     .name = "55 +/- 5 % and 20 +/- 2 degC",
     .source = NARROW,
     .rh_min_pct = 50.0,
     .rh_max_pct = 60.0,
     .t_min_c = 18.0,
     .t_max_c = 22.0,
     .rh_24h_pct = NONE,
     .t_24h_k = NONE,
     COMMON},
    {.key = "narrow-50-21",
     .name = "50 +/- 5 % and 21 +/- 2 degC",
     .source = NARROW,
     .rh_min_pct = 45.0,
     .rh_max_pct = 55.0,
     .t_min_c = 19.0,
     .t_max_c = 23.0,
     .rh_24h_pct = NONE,
     .t_24h_k = NONE,
     COMMON},
    {.key = "narrow-55-21",
     .name = "55 +/- 5 % and 21 +/- 2 degC",
     .source = NARROW,
     .rh_min_pct = 50.0,
     .rh_max_pct = 60.0,
     .t_min_c = 19.0,
     .t_max_c = 23.0,
     .rh_24h_pct = NONE,
     .t_24h_k = NONE,
     COMMON},
    {.key = "smithsonian",
     .name = "Smithsonian (Mecklenburg): 45 +/- 8 %, 70 +/- 4 degF",
     .source = "Mecklenburg, Smithsonian Institution",
     .rh_min_pct = 37.0,
     .rh_max_pct = 53.0,
     .t_min_c = 18.9,
     .t_max_c = 23.3,
     .rh_24h_pct = NONE,
     .t_24h_k = NONE,
     COMMON},
};

const struct sr_spec *sr_spec_published(size_t i)
{
    return i < sizeof published / sizeof *published ? &published[i] : NULL;
}

const struct sr_spec *sr_spec_find(const char *key)
{
    for (size_t i = 0; i < sizeof published / sizeof *published; i++)
        if (strcmp(published[i].key, key) == 0)
            return &published[i];
    return NULL;
}
