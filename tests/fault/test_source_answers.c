/* What answers a bus believes, and what becomes of the others. Each row is one device that
 * misbehaves for some slots and is good before and after; all rows run at once. */
#include "support/near.h"

#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "support/busrun.h"
#include "support/unruly.h"

enum {
    RESPONSE_MS = 150
};

struct row {
    const char *what;
    enum site_bus_kind kind;
    enum unruly_manner manner;
    int number;
    enum gap_reason expected;
    uint8_t detail;
};

static const struct row rows[] = {
    /* The first: a late answer is never the next request's value. Within the quiet time, within
     * the next slot, and later than that. */
    {"late, tcp", BUS_MODBUS_TCP, UNRULY_LATE, 220, GAP_NO_ANSWER, 0},
    {"late by a slot, tcp", BUS_MODBUS_TCP, UNRULY_LATE, 1050, GAP_NO_ANSWER, 0},
    {"late, rtu", BUS_MODBUS_RTU, UNRULY_LATE, 220, GAP_NO_ANSWER, 0},
    {"silent, tcp", BUS_MODBUS_TCP, UNRULY_SILENT, 0, GAP_NO_ANSWER, 0},
    {"silent, rtu", BUS_MODBUS_RTU, UNRULY_SILENT, 0, GAP_NO_ANSWER, 0},
    {"exception 1, tcp", BUS_MODBUS_TCP, UNRULY_EXCEPTION, 1, GAP_EXCEPTION, 1},
    {"exception 2, tcp", BUS_MODBUS_TCP, UNRULY_EXCEPTION, 2, GAP_EXCEPTION, 2},
    {"exception 4, rtu", BUS_MODBUS_RTU, UNRULY_EXCEPTION, 4, GAP_EXCEPTION, 4},
    {"exception 6, rtu", BUS_MODBUS_RTU, UNRULY_EXCEPTION, 6, GAP_EXCEPTION, 6},
    {"gateway's exception 11, tcp", BUS_MODBUS_TCP, UNRULY_EXCEPTION, 11, GAP_EXCEPTION, 11},
    {"wrong checksum, rtu", BUS_MODBUS_RTU, UNRULY_BAD_CHECK, 0, GAP_GARBLED, 0},
    {"wrong protocol, tcp", BUS_MODBUS_TCP, UNRULY_BAD_CHECK, 0, GAP_GARBLED, 0},
    {"wrong unit, tcp", BUS_MODBUS_TCP, UNRULY_WRONG_UNIT, 0, GAP_WRONG_UNIT, 0},
    {"wrong unit, rtu", BUS_MODBUS_RTU, UNRULY_WRONG_UNIT, 0, GAP_WRONG_UNIT, 0},
    {"another unit's late answer first, rtu", BUS_MODBUS_RTU, UNRULY_OTHER_FIRST, 0, GAP_NONE,
     0},
    {"wrong function, tcp", BUS_MODBUS_TCP, UNRULY_WRONG_FUNCTION, 0, GAP_GARBLED, 0},
    {"wrong function, rtu", BUS_MODBUS_RTU, UNRULY_WRONG_FUNCTION, 0, GAP_GARBLED, 0},
    {"wrong transaction, tcp", BUS_MODBUS_TCP, UNRULY_WRONG_TRANSACTION, 0, GAP_GARBLED, 0},
    {"one register too many, tcp", BUS_MODBUS_TCP, UNRULY_WRONG_LENGTH, 0, GAP_GARBLED, 0},
    {"one register too many, rtu", BUS_MODBUS_RTU, UNRULY_WRONG_LENGTH, 0, GAP_GARBLED, 0},
    {"short, tcp", BUS_MODBUS_TCP, UNRULY_SHORT, 0, GAP_GARBLED, 0},
    {"short, rtu", BUS_MODBUS_RTU, UNRULY_SHORT, 0, GAP_GARBLED, 0},
    {"dripping, tcp", BUS_MODBUS_TCP, UNRULY_DRIP, 40, GAP_GARBLED, 0},
    {"dripping, rtu", BUS_MODBUS_RTU, UNRULY_DRIP, 40, GAP_GARBLED, 0},
    {"noise before, tcp", BUS_MODBUS_TCP, UNRULY_GARBAGE, 0, GAP_GARBLED, 0},
    {"noise before, rtu", BUS_MODBUS_RTU, UNRULY_GARBAGE, 0, GAP_GARBLED, 0},
    {"noise alone, tcp", BUS_MODBUS_TCP, UNRULY_NOISE, 0, GAP_GARBLED, 0},
    {"noise alone, rtu", BUS_MODBUS_RTU, UNRULY_NOISE, 0, GAP_GARBLED, 0},
    {"hangs up, tcp", BUS_MODBUS_TCP, UNRULY_HANG_UP, 0, GAP_NO_CONNECTION, 0},
    {"hangs up once just when it is asked, tcp", BUS_MODBUS_TCP, UNRULY_HANG_UP, 1, GAP_NONE,
     0},
    {"hangs up in the middle, tcp", BUS_MODBUS_TCP, UNRULY_HANG_UP_MID, 0, GAP_NO_CONNECTION,
     0},
    /* A second copy of an answer harms nobody: every slot keeps its own value. */
    {"answers twice, tcp", BUS_MODBUS_TCP, UNRULY_TWICE, 0, GAP_NONE, 0},
    {"answers twice, rtu", BUS_MODBUS_RTU, UNRULY_TWICE, 0, GAP_NONE, 0},
};

enum {
    ROWS = sizeof rows / sizeof *rows
};

static void sleep_to_quarter(void)
{
    clock_sleep_ms(1250 - clock_now().utc_ms % 1000);
}

/* One row's readings: good, then `bad` slots as expected, then good again. */
static void check_row(const struct row *row, struct busrun *run, int64_t from_s, int64_t to_s)
{
    struct reading all[64];
    const char *fault = busrun_fault(run);
    if (fault != NULL)
        fail_msg("%s: %s", row->what, fault);
    size_t n = busrun_readings(run, 0, all, 64);
    assert_in_range(n, 8, 64);
    for (size_t i = 0; i < n; i++) {
        bool bad = all[i].t_s >= from_s && all[i].t_s < to_s;
        enum gap_reason want = bad ? row->expected : GAP_NONE;
        if (all[i].gap != want || all[i].detail != (bad ? row->detail : 0))
            fail_msg("%s: slot %lld is \"%s\" %u, not \"%s\"", row->what,
                     (long long)(all[i].t_s - from_s),
                     gap_reason_word((enum gap_reason)all[i].gap), all[i].detail,
                     gap_reason_word(want));
    }
}

static void every_bad_answer_is_a_gap_with_its_reason_and_the_next_is_good(void **state)
{
    (void)state;
    struct unruly *devices[ROWS];
    struct busrun *runs[ROWS];
    for (int i = 0; i < ROWS; i++) {
        bool tcp = rows[i].kind == BUS_MODBUS_TCP;
        devices[i] = tcp ? unruly_tcp() : unruly_rtu();
        runs[i] = busrun_start(rows[i].kind, unruly_address(devices[i]), 1, 1, RESPONSE_MS);
    }
    for (int i = 0; i < ROWS; i++)
        assert_true(busrun_wait(runs[i], 2));
    sleep_to_quarter(); /* between two polls */
    int64_t from_s = clock_utc_s(clock_now());
    for (int i = 0; i < ROWS; i++)
        unruly_set(devices[i], 1, rows[i].manner, rows[i].number);
    clock_sleep_ms(2000);
    for (int i = 0; i < ROWS; i++)
        unruly_set(devices[i], 1, UNRULY_GOOD, 0);
    for (int i = 0; i < ROWS; i++)
        assert_true(busrun_wait(runs[i], 8));
    for (int i = 0; i < ROWS; i++)
        check_row(&rows[i], runs[i], from_s, from_s + 2);
    for (int i = 0; i < ROWS; i++) {
        busrun_free(runs[i]);
        unruly_free(devices[i]);
    }
}

/* A serial unit that is always later than the next request never has a value: each of its
 * answers would be the one before. With this delay it comes in the next slot's response time,
 * where one response timeout of silence does not help. */
static void a_unit_that_is_always_one_slot_late_has_no_values(void **state)
{
    (void)state;
    static const int late_ms[] = {1000, 1050, 1100, 2050};
    enum {
        LATE = sizeof late_ms / sizeof *late_ms
    };
    struct unruly *devices[LATE];
    struct busrun *runs[LATE];
    for (int i = 0; i < LATE; i++) {
        devices[i] = unruly_rtu();
        unruly_set(devices[i], 1, UNRULY_LATE, late_ms[i]);
        runs[i] = busrun_start(BUS_MODBUS_RTU, unruly_address(devices[i]), 1, 1, RESPONSE_MS);
    }
    for (int i = 0; i < LATE; i++)
        assert_true(busrun_wait(runs[i], 8));
    for (int i = 0; i < LATE; i++) {
        assert_int_equal(busrun_count(runs[i], 0, GAP_NONE), 0);
        assert_true(unruly_requests(devices[i], 1) > 3);
        busrun_free(runs[i]);
        unruly_free(devices[i]);
    }
}

static void a_serial_line_is_quiet_for_one_response_timeout_after_an_error(void **state)
{
    (void)state;
    struct unruly *device = unruly_rtu();
    for (int unit = 1; unit <= 3; unit++)
        unruly_set(device, unit, UNRULY_SILENT, 0);
    struct busrun *run = busrun_start(BUS_MODBUS_RTU, unruly_address(device), 3, 1, 100);
    assert_true(busrun_wait(run, 3));
    busrun_stop(run);
    /* The timeout itself and the quiet time after it; the device sees requests late by what
     * its own thread takes, so a few ms may be missing. */
    assert_true(unruly_least_pause(device) >= 190);
    busrun_free(run);
    unruly_free(device);
}

static void a_dripping_peer_holds_nobody_longer_than_the_bound(void **state)
{
    (void)state;
    struct unruly *device = unruly_rtu();
    unruly_set(device, 1, UNRULY_DRIP, 45);
    struct busrun *run = busrun_start(BUS_MODBUS_RTU, unruly_address(device), 2, 1, 100);
    assert_true(busrun_wait(run, 5));
    /* Nine bytes at 45 ms would take 400 ms; unit 2 keeps every slot. */
    busrun_stop(run);
    const char *fault = busrun_fault(run);
    if (fault != NULL)
        fail_msg("%s", fault);
    assert_int_equal(busrun_count(run, 2, GAP_OVERRUN), 0);
    assert_true(busrun_count(run, 2, GAP_NONE) >= 4);
    assert_int_equal(busrun_count(run, 0, GAP_NONE), 0);
    busrun_free(run);
    unruly_free(device);
}

static void a_unit_that_refuses_a_hole_is_asked_in_pieces(void **state)
{
    (void)state;
    static const struct site_read reads[] = {
        {.quantity = QUANTITY_TEMPERATURE,
         .table = TABLE_HOLDING,
         .type = TYPE_UINT16,
         .address = 2,
         .scale = 0.01},
        {.quantity = QUANTITY_HUMIDITY,
         .table = TABLE_HOLDING,
         .type = TYPE_UINT16,
         .address = 4,
         .scale = 0.01},
        {.quantity = QUANTITY_WOOD_MOISTURE,
         .table = TABLE_HOLDING,
         .type = TYPE_UINT16,
         .address = 9,
         .scale = 0.01},
    };
    struct unruly *device = unruly_tcp();
    unruly_set(device, 1, UNRULY_HOLES, 5); /* it has registers 0 to 5 */
    struct busrun *run =
        busrun_start_reads(BUS_MODBUS_TCP, unruly_address(device), 1, 1, RESPONSE_MS, reads, 3);
    assert_true(busrun_wait(run, 2));
    busrun_stop(run);
    struct reading got[3];
    for (uint32_t channel = 0; channel < 3; channel++)
        assert_int_equal(busrun_readings(run, channel, &got[channel], 1), 1);
    assert_int_equal(got[0].gap, GAP_NONE);
    assert_int_equal(got[0].value, 102);
    assert_int_equal(got[1].gap, GAP_NONE);
    assert_int_equal(got[1].value, 104);
    assert_int_equal(got[2].gap, GAP_EXCEPTION);
    assert_int_equal(got[2].detail, 2);
    busrun_free(run);
    unruly_free(device);
}

static void a_code_or_a_nan_is_a_gap_and_the_neighbour_keeps_its_value(void **state)
{
    (void)state;
    static const struct site_read reads[] = {
        {.quantity = QUANTITY_TEMPERATURE,
         .table = TABLE_INPUT,
         .type = TYPE_INT16,
         .address = 2,
         .scale = 0.01,
         .none = {32768},
         .none_count = 1},
        {.quantity = QUANTITY_HUMIDITY,
         .table = TABLE_INPUT,
         .type = TYPE_FLOAT32,
         .address = 3,
         .scale = 1},
        {.quantity = QUANTITY_SURFACE_TEMPERATURE,
         .table = TABLE_INPUT,
         .type = TYPE_INT16,
         .address = 5,
         .scale = 0.01},
        {.quantity = QUANTITY_LEAK, .table = TABLE_DISCRETE, .type = TYPE_BIT, .address = 7},
    };
    struct unruly *device = unruly_tcp();
    unruly_hold(device, 2, 0x8000);
    unruly_hold(device, 3, 0x7fc0); /* IEEE 754: a quiet NaN */
    unruly_hold(device, 4, 0);
    unruly_hold(device, 5, (uint16_t)-321);
    unruly_hold(device, 7, 1);
    struct busrun *run =
        busrun_start_reads(BUS_MODBUS_TCP, unruly_address(device), 1, 1, RESPONSE_MS, reads, 4);
    assert_true(busrun_wait(run, 1));
    busrun_stop(run);
    struct reading got[4];
    for (uint32_t channel = 0; channel < 4; channel++)
        assert_int_equal(busrun_readings(run, channel, &got[channel], 1), 1);
    assert_int_equal(got[0].gap, GAP_NO_VALUE);
    assert_int_equal(got[1].gap, GAP_NO_VALUE);
    assert_int_equal(got[2].gap, GAP_NONE);
    assert_int_equal(got[2].value, -321);
    assert_int_equal(got[3].gap, GAP_NONE);
    assert_int_equal(got[3].value, 1);
    busrun_free(run);
    unruly_free(device);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_bad_answer_is_a_gap_with_its_reason_and_the_next_is_good),
        cmocka_unit_test(a_unit_that_is_always_one_slot_late_has_no_values),
        cmocka_unit_test(a_serial_line_is_quiet_for_one_response_timeout_after_an_error),
        cmocka_unit_test(a_dripping_peer_holds_nobody_longer_than_the_bound),
        cmocka_unit_test(a_unit_that_refuses_a_hole_is_asked_in_pieces),
        cmocka_unit_test(a_code_or_a_nan_is_a_gap_and_the_neighbour_keeps_its_value),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
