/* Which requests bring the reads of a bus. The limits of one request after MODBUS Application
 * Protocol Specification V1.1b3, sections 6.1 and 6.3; the hole is a project choice. */
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>

#include "source/plan.h"

enum {
    INSTRUMENTS = 8,
    EXPECTED = 12
};

struct instrument {
    int unit, every_s;
    struct site_read reads[SOURCE_READS_MAX];
};

struct row {
    const char *what;
    struct instrument instruments[INSTRUMENTS];
    struct frame_request expected[EXPECTED]; /* ends with count 0 */
};

#define R(tab, at, ty)                                                                         \
    {                                                                                          \
        .table = TABLE_##tab, .address = at, .type = TYPE_##ty                                 \
    }
#define ASK(u, tab, at, n)                                                                     \
    {                                                                                          \
        .unit = u, .table = TABLE_##tab, .address = at, .count = n                             \
    }

static const struct row rows[] = {
    {"neighbours share a request",
     {{1, 30, {R(INPUT, 1, INT16), R(INPUT, 2, UINT16)}}},
     {ASK(1, INPUT, 1, 2)}},
    {"in whatever order they are written",
     {{1, 30, {R(INPUT, 5, INT16), R(INPUT, 3, FLOAT32), R(INPUT, 2, UINT16)}}},
     {ASK(1, INPUT, 2, 4)}},
    {"a hole of eight is read across",
     {{1, 30, {R(HOLDING, 0, INT16), R(HOLDING, 9, INT16)}}},
     {ASK(1, HOLDING, 0, 10)}},
    {"a hole of nine is not",
     {{1, 30, {R(HOLDING, 0, INT16), R(HOLDING, 10, INT16)}}},
     {ASK(1, HOLDING, 0, 1), ASK(1, HOLDING, 10, 1)}},
    {"one register read twice is asked for once",
     {{1, 30, {R(INPUT, 4, INT16), R(INPUT, 4, UINT16), R(INPUT, 4, FLOAT32)}}},
     {ASK(1, INPUT, 4, 2)}},
    {"tables are apart",
     {{1,
       30,
       {R(COIL, 0, BIT), R(DISCRETE, 0, BIT), R(INPUT, 0, INT16), R(HOLDING, 0, INT16)}}},
     {ASK(1, COIL, 0, 1), ASK(1, DISCRETE, 0, 1), ASK(1, INPUT, 0, 1), ASK(1, HOLDING, 0, 1)}},
    {"units are apart",
     {{1, 30, {R(INPUT, 0, INT16)}}, {2, 30, {R(INPUT, 1, INT16)}}},
     {ASK(1, INPUT, 0, 1), ASK(2, INPUT, 1, 1)}},
    {"instruments that share a unit share requests",
     {{7, 30, {R(INPUT, 0, INT16)}}, {7, 30, {R(INPUT, 1, INT16)}}},
     {ASK(7, INPUT, 0, 2)}},
    {"but not at another pace",
     {{7, 30, {R(INPUT, 0, INT16)}}, {7, 60, {R(INPUT, 1, INT16)}}},
     {ASK(7, INPUT, 0, 1), ASK(7, INPUT, 1, 1)}},
    {"125 registers go into one request",
     {{1,
       30,
       {R(INPUT, 0, FLOAT64), R(INPUT, 12, FLOAT64), R(INPUT, 24, FLOAT64),
        R(INPUT, 36, FLOAT64), R(INPUT, 48, FLOAT64), R(INPUT, 60, FLOAT64),
        R(INPUT, 72, FLOAT64), R(INPUT, 84, FLOAT64), R(INPUT, 96, FLOAT64),
        R(INPUT, 108, FLOAT64), R(INPUT, 120, FLOAT64), R(INPUT, 124, INT16)}}},
     {ASK(1, INPUT, 0, 125)}},
    {"126 do not",
     {{1,
       30,
       {R(INPUT, 0, FLOAT64), R(INPUT, 12, FLOAT64), R(INPUT, 24, FLOAT64),
        R(INPUT, 36, FLOAT64), R(INPUT, 48, FLOAT64), R(INPUT, 60, FLOAT64),
        R(INPUT, 72, FLOAT64), R(INPUT, 84, FLOAT64), R(INPUT, 96, FLOAT64),
        R(INPUT, 108, FLOAT64), R(INPUT, 120, FLOAT64), R(INPUT, 124, FLOAT32)}}},
     {ASK(1, INPUT, 0, 124), ASK(1, INPUT, 124, 2)}},
    {"the last register of a table",
     {{1, 30, {R(HOLDING, 65535, INT16), R(HOLDING, 65533, FLOAT32)}}},
     {ASK(1, HOLDING, 65533, 3)}},
};

static size_t read_count(const struct instrument *instrument)
{
    size_t n = 0;
    while (n < SOURCE_READS_MAX &&
           (n == 0 || instrument->reads[n].address != 0 || instrument->reads[n].table != 0))
        n++;
    return n;
}

struct site_parts {
    struct site_instrument configs[INSTRUMENTS];
    struct source_instrument instruments[INSTRUMENTS];
};

static enum rc make(const struct instrument *from, struct site_parts *parts, struct plan *plan)
{
    size_t count = 0;
    for (; count < INSTRUMENTS && from[count].every_s != 0; count++) {
        parts->configs[count] =
            (struct site_instrument){.name = "test",
                                     .unit = from[count].unit,
                                     .every_s = from[count].every_s,
                                     .reads = from[count].reads,
                                     .read_count = read_count(&from[count])};
        parts->instruments[count].config = &parts->configs[count];
        for (uint32_t k = 0; k < SOURCE_READS_MAX; k++)
            parts->instruments[count].channel[k] = (uint32_t)count * 100 + k;
    }
    const struct source_config config = {.instruments = parts->instruments,
                                         .instrument_count = count};
    return plan_make(&config, plan);
}

/* Every read is in exactly one request, which covers it. */
static void check_cover(const char *what, const struct plan_group *group)
{
    size_t seen = 0;
    for (size_t i = 0; i < group->request_count; i++) {
        const struct plan_request *r = &group->requests[i];
        if (r->first != seen)
            fail_msg("%s: request %zu begins with item %zu, not %zu", what, i, r->first, seen);
        for (size_t k = r->first; k < r->first + r->count; k++) {
            const struct site_read *read = group->items[k].read;
            static const unsigned widths[] = {1, 1, 1, 2, 2, 2, 4};
            if (read->table != r->ask.table || read->address < r->ask.address ||
                read->address + widths[read->type] > r->ask.address + (unsigned)r->ask.count)
                fail_msg("%s: item %zu lies outside its request", what, k);
        }
        seen += r->count;
    }
    if (seen != group->item_count)
        fail_msg("%s: %zu of %zu reads are asked for", what, seen, group->item_count);
}

static void check_requests(const char *what, const struct plan *plan,
                           const struct frame_request *expected)
{
    size_t at = 0;
    for (size_t g = 0; g < plan->group_count; g++) {
        check_cover(what, &plan->groups[g]);
        for (size_t i = 0; i < plan->groups[g].request_count; i++, at++) {
            const struct frame_request *got = &plan->groups[g].requests[i].ask;
            const struct frame_request *want = &expected[at];
            if (got->unit != want->unit || got->table != want->table ||
                got->address != want->address || got->count != want->count)
                fail_msg("%s: request %zu is unit %d table %d from %u, %u long", what, at,
                         got->unit, (int)got->table, got->address, got->count);
        }
    }
    if (expected[at].count != 0)
        fail_msg("%s: only %zu requests", what, at);
}

static void reads_become_as_few_requests_as_the_rules_allow(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct site_parts parts;
        struct plan plan;
        assert_int_equal(make(rows[i].instruments, &parts, &plan), RC_OK);
        check_requests(rows[i].what, &plan, rows[i].expected);
        plan_free(&plan);
    }
}

static void bits_share_up_to_two_thousand(void **state)
{
    (void)state;
    enum {
        BITS = 251
    };
    struct site_read *reads = calloc(BITS, sizeof *reads);
    struct site_instrument configs[16];
    struct source_instrument instruments[16];
    assert_non_null(reads);
    for (int i = 0; i < BITS; i++)
        reads[i] = (struct site_read){
            .table = TABLE_DISCRETE, .address = (uint16_t)(i * 8), .type = TYPE_BIT};
    for (int i = 0; i < 16; i++) {
        configs[i] = (struct site_instrument){.name = "test",
                                              .unit = 1,
                                              .every_s = 1,
                                              .reads = reads + i * 16,
                                              .read_count = i < 15 ? 16 : BITS - 240};
        instruments[i] = (struct source_instrument){.config = &configs[i]};
    }
    const struct source_config config = {.instruments = instruments, .instrument_count = 16};
    struct plan plan;
    assert_int_equal(plan_make(&config, &plan), RC_OK);
    /* Bits 0 to 1992 in one request, bit 2000 in the next. */
    const struct frame_request expected[] = {
        ASK(1, DISCRETE, 0, 1993), ASK(1, DISCRETE, 2000, 1), {.count = 0}};
    check_requests("bits", &plan, expected);
    plan_free(&plan);
    free(reads);
}

static void a_refused_request_is_parted_at_holes_then_one_by_one(void **state)
{
    (void)state;
    static const struct instrument from[INSTRUMENTS] = {
        {1,
         30,
         {R(INPUT, 1, INT16), R(INPUT, 2, INT16), R(INPUT, 6, INT16), R(INPUT, 7, FLOAT32),
          R(INPUT, 40, INT16)}}};
    struct site_parts parts;
    struct plan plan;
    assert_int_equal(make(from, &parts, &plan), RC_OK);
    const struct frame_request whole[] = {
        ASK(1, INPUT, 1, 8), ASK(1, INPUT, 40, 1), {.count = 0}};
    check_requests("whole", &plan, whole);
    struct plan_group *group = &plan.groups[0];
    assert_true(plan_split(group, 0));
    const struct frame_request parted[] = {
        ASK(1, INPUT, 1, 2), ASK(1, INPUT, 6, 3), ASK(1, INPUT, 40, 1), {.count = 0}};
    check_requests("at holes", &plan, parted);
    assert_true(plan_split(group, 1));
    const struct frame_request singles[] = {ASK(1, INPUT, 1, 2),
                                            ASK(1, INPUT, 6, 1),
                                            ASK(1, INPUT, 7, 2),
                                            ASK(1, INPUT, 40, 1),
                                            {.count = 0}};
    check_requests("one by one", &plan, singles);
    assert_false(plan_split(group, 2));
    assert_false(plan_split(group, 3));
    assert_true(plan_split(group, 0));
    check_cover("all", group);
    assert_int_equal(group->request_count, 5);
    plan_free(&plan);
}

static void the_step_check_has_an_answer_of_its_own_length(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct site_parts parts;
        struct plan plan;
        assert_int_equal(make(rows[i].instruments, &parts, &plan), RC_OK);
        for (size_t g = 0; g < plan.group_count; g++) {
            struct frame_request check = plan_step_check(&plan, plan.groups[g].unit);
            assert_int_equal(check.unit, plan.groups[g].unit);
            assert_in_range(check.count, 1, frame_most(check.table));
            for (size_t k = 0; k < plan.groups[g].request_count; k++) {
                const struct frame_request *ask = &plan.groups[g].requests[k].ask;
                if (ask->table == check.table &&
                    frame_answer_size(ask) == frame_answer_size(&check))
                    fail_msg("%s: the answer to request %zu looks the same", rows[i].what, k);
            }
        }
        plan_free(&plan);
    }
}

static void a_read_beyond_the_table_and_too_many_reads_are_refused(void **state)
{
    (void)state;
    static const struct instrument beyond[INSTRUMENTS] = {{1, 30, {R(INPUT, 65535, FLOAT32)}}};
    static const struct site_read many[SOURCE_READS_MAX + 1] = {R(INPUT, 1, INT16)};
    struct site_parts parts;
    struct plan plan;
    assert_int_equal(make(beyond, &parts, &plan), RC_BAD_INPUT);
    const struct site_instrument config = {.name = "test",
                                           .unit = 1,
                                           .every_s = 1,
                                           .reads = many,
                                           .read_count = SOURCE_READS_MAX + 1};
    const struct source_instrument instrument = {.config = &config};
    const struct source_config bus = {.instruments = &instrument, .instrument_count = 1};
    assert_int_equal(plan_make(&bus, &plan), RC_BAD_INPUT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_become_as_few_requests_as_the_rules_allow),
        cmocka_unit_test(bits_share_up_to_two_thousand),
        cmocka_unit_test(a_refused_request_is_parted_at_holes_then_one_by_one),
        cmocka_unit_test(the_step_check_has_an_answer_of_its_own_length),
        cmocka_unit_test(a_read_beyond_the_table_and_too_many_reads_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
