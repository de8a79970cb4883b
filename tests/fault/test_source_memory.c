/* Memory runs out at each allocation in turn while a bus is made: a clean code, nothing given
 * out, nothing leaked. Linked with --wrap for these three. */
#include "support/near.h"

#include <stdlib.h>

#include "source/line.h"
#include "source/poller.h"

void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void __real_free(void *p);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);
void __wrap_free(void *p);

static long left = -1; /* allocations until one fails; below 0: none does */
static bool met;       /* one has failed */
static long held;      /* blocks not yet given back */

static bool fails(void)
{
    if (left < 0 || left-- > 0)
        return false;
    met = true;
    return true;
}

void *__wrap_calloc(size_t count, size_t size)
{
    void *p = fails() ? NULL : __real_calloc(count, size);
    held += p != NULL;
    return p;
}

void *__wrap_realloc(void *old, size_t size)
{
    void *p = fails() ? NULL : __real_realloc(old, size);
    held += p != NULL && old == NULL;
    return p;
}

void __wrap_free(void *p)
{
    held -= p != NULL;
    __real_free(p);
}

static void put(struct sink *sink, const struct reading *readings, unsigned count)
{
    (void)sink;
    (void)readings;
    (void)count;
}

static enum rc make(const struct source_config *config, struct sink *sink, struct line **line,
                    struct poller **poller)
{
    const struct tick now = {.mono_ms = 1000, .utc_ms = INT64_C(1772323203200)};
    enum rc rc = line_new(config->bus, -1, line);
    return rc != RC_OK ? rc : poller_new(config, *line, sink, now, poller);
}

static void a_bus_is_made_whole_or_not_at_all(void **state)
{
    (void)state;
    static const struct site_read reads[] = {
        {.quantity = QUANTITY_TEMPERATURE, .table = TABLE_INPUT, .address = 1, .scale = 1},
        {.quantity = QUANTITY_HUMIDITY, .table = TABLE_HOLDING, .address = 2, .scale = 1}};
    const struct site_bus bus = {.name = "test", .kind = BUS_MODBUS_TCP, .response_ms = 100};
    const struct site_instrument configs[3] = {
        {.name = "a", .unit = 1, .every_s = 1, .reads = reads, .read_count = 2},
        {.name = "b", .unit = 1, .every_s = 1, .reads = reads, .read_count = 1},
        {.name = "c", .unit = 2, .every_s = 10, .reads = reads, .read_count = 2}};
    const struct source_instrument instruments[3] = {
        {.config = &configs[0]}, {.config = &configs[1]}, {.config = &configs[2]}};
    const struct source_config config = {
        .bus = &bus, .instruments = instruments, .instrument_count = 3};
    struct sink sink = {.put = put};
    long n = 0;
    for (bool without_fault = false; !without_fault; n++) {
        struct line *line = NULL;
        struct poller *poller = NULL;
        long before = held;
        met = false;
        left = n;
        enum rc rc = make(&config, &sink, &line, &poller);
        left = -1;
        without_fault = !met;
        assert_int_equal(rc, met ? RC_NOMEM : RC_OK);
        assert_true((poller != NULL) == (rc == RC_OK));
        poller_free(poller);
        line_free(line);
        assert_int_equal(held, before);
    }
    assert_true(n > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_bus_is_made_whole_or_not_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
