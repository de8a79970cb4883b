/* Lines that break and come back, buses of which half is dead, and stopping while a peer
 * hangs: real threads against an unruly device. */
#include "support/near.h"

#include <arpa/inet.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/resource.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/clock.h"
#include "support/busrun.h"
#include "support/unruly.h"

static const enum site_bus_kind kinds[2] = {BUS_MODBUS_TCP, BUS_MODBUS_RTU};

static struct unruly *device_for(enum site_bus_kind kind)
{
    return kind == BUS_MODBUS_TCP ? unruly_tcp() : unruly_rtu();
}

static void assert_no_fault(struct busrun *run)
{
    const char *fault = busrun_fault(run);
    if (fault != NULL)
        fail_msg("%s", fault);
}

static void of_sixteen_units_half_are_dead_and_the_live_keep_every_slot(void **state)
{
    (void)state;
    struct unruly *devices[2];
    struct busrun *runs[2];
    for (int k = 0; k < 2; k++) {
        devices[k] = device_for(kinds[k]);
        for (int unit = 1; unit <= 16; unit += 2)
            unruly_set(devices[k], unit, UNRULY_SILENT, 0);
        /* At the start, when nobody knows who is dead, the dead take 1.6 s of the first slot;
         * 500 ms at 10 s is in the test of the schedule. */
        runs[k] = busrun_start(kinds[k], unruly_address(devices[k]), 16, 3, 100);
    }
    for (int k = 0; k < 2; k++) {
        assert_true(busrun_wait(runs[k], 6));
        busrun_stop(runs[k]);
        assert_no_fault(runs[k]);
        for (uint32_t unit = 1; unit <= 16; unit++) {
            uint32_t channel = (unit - 1) * 2;
            unsigned values = busrun_count(runs[k], channel, GAP_NONE);
            unsigned silent = busrun_count(runs[k], channel, GAP_NO_ANSWER);
            struct reading all[64];
            size_t n = busrun_readings(runs[k], channel, all, 64);
            assert_true(n >= 5);
            assert_int_equal(unit % 2 == 0 ? values : silent, n);
        }
        busrun_free(runs[k]);
        unruly_free(devices[k]);
    }
}

static void a_line_that_goes_and_comes_back_is_used_again(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        struct unruly *device = device_for(kinds[k]);
        struct busrun *run = busrun_start(kinds[k], unruly_address(device), 2, 1, 100);
        assert_true(busrun_wait(run, 2));
        unruly_unplug(device);
        assert_true(busrun_wait(run, 5));
        struct source_status status;
        source_status(busrun_source(run), &status);
        assert_false(status.connected);
        assert_true(unruly_plug(device));
        unsigned before = busrun_count(run, 0, GAP_NONE);
        assert_true(busrun_wait(run, 10));
        source_status(busrun_source(run), &status);
        assert_true(status.connected);
        assert_int_equal(status.unit_count, 2);
        assert_int_equal(status.units[0].last, GAP_NONE);
        assert_true(status.units[0].failures >= 2);
        busrun_stop(run);
        assert_no_fault(run);
        enum gap_reason why = k == 0 ? GAP_NO_CONNECTION : GAP_NO_DEVICE;
        assert_true(busrun_count(run, 0, why) >= 2);
        assert_true(busrun_count(run, 0, GAP_NONE) >= before + 2);
        busrun_free(run);
        unruly_free(device);
    }
}

static void
a_device_that_is_not_there_at_the_start_is_a_gap_and_used_when_it_comes(void **state)
{
    (void)state;
    for (int k = 0; k < 2; k++) {
        struct unruly *device = device_for(kinds[k]);
        unruly_unplug(device);
        struct busrun *run = busrun_start(kinds[k], unruly_address(device), 1, 1, 100);
        assert_true(busrun_wait(run, 2));
        assert_int_equal(busrun_count(run, 0, GAP_NONE), 0);
        assert_true(unruly_plug(device));
        assert_true(busrun_wait(run, 6));
        busrun_stop(run);
        assert_no_fault(run);
        assert_true(busrun_count(run, 0, GAP_NONE) >= 1);
        busrun_free(run);
        unruly_free(device);
    }
}

static void an_idle_gateway_that_hung_up_costs_no_reading(void **state)
{
    (void)state;
    struct unruly *device = unruly_tcp();
    struct busrun *run = busrun_start(BUS_MODBUS_TCP, unruly_address(device), 1, 1, 200);
    for (int slot = 1; slot <= 4; slot++) {
        assert_true(busrun_wait(run, slot));
        unruly_hang_up(device);
    }
    assert_true(busrun_wait(run, 6));
    busrun_stop(run);
    assert_no_fault(run);
    struct reading all[16];
    assert_int_equal(busrun_count(run, 0, GAP_NONE), busrun_readings(run, 0, all, 16));
    assert_true(unruly_connections(device) >= 5);
    busrun_free(run);
    unruly_free(device);
}

static void stopping_takes_no_longer_than_one_response_timeout_while_a_peer_hangs(void **state)
{
    (void)state;
    enum {
        RESPONSE_MS = 2000
    };
    static const enum unruly_manner hang[] = {UNRULY_SILENT, UNRULY_DRIP};
    for (int k = 0; k < 4; k++) {
        struct unruly *device = device_for(kinds[k % 2]);
        unruly_set(device, 1, hang[k / 2], 300);
        struct busrun *run =
            busrun_start(kinds[k % 2], unruly_address(device), 1, 1, RESPONSE_MS);
        int64_t patience = clock_now().mono_ms + 5000;
        while (unruly_requests(device, 1) == 0 && clock_now().mono_ms < patience)
            clock_sleep_ms(5);
        assert_true(unruly_requests(device, 1) > 0);
        clock_sleep_ms(100);
        int64_t before = clock_now().mono_ms;
        busrun_stop(run);
        assert_true(clock_now().mono_ms - before <= RESPONSE_MS);
        /* What was being asked is neither a value nor a made-up gap. */
        assert_int_equal(busrun_count(run, 0, GAP_NONE), 0);
        busrun_free(run);
        unruly_free(device);
    }
}

static int full_listener(char *port, size_t size)
{
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t len = sizeof at;
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(fd >= 0);
    assert_int_equal(bind(fd, (struct sockaddr *)&at, sizeof at), 0);
    assert_int_equal(listen(fd, 0), 0);
    assert_int_equal(getsockname(fd, (struct sockaddr *)&at, &len), 0);
    snprintf(port, size, "%d", ntohs(at.sin_port));
    return fd;
}

/* Begins to connect and does not wait. */
static int dial(const char *port)
{
    struct sockaddr_in at = {.sin_family = AF_INET,
                             .sin_port = htons((uint16_t)strtol(port, NULL, 10)),
                             .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    assert_true(fd >= 0);
    assert_int_equal(fcntl(fd, F_SETFL, O_NONBLOCK), 0);
    (void)!connect(fd, (struct sockaddr *)&at, sizeof at);
    return fd;
}

static void a_gateway_that_never_accepts_does_not_hold_up_the_stop(void **state)
{
    (void)state;
    /* A queue for one that is full: further attempts get no answer at all. */
    char port[16];
    int listener = full_listener(port, sizeof port), first = dial(port), second = dial(port);
    const struct site_bus bus = {.name = "test",
                                 .kind = BUS_MODBUS_TCP,
                                 .host = "127.0.0.1",
                                 .port = port,
                                 .response_ms = 2000,
                                 .byte_ms = 50};
    const struct site_read read = {
        .quantity = QUANTITY_TEMPERATURE, .table = TABLE_INPUT, .scale = 1};
    const struct site_instrument config = {
        .name = "far", .bus = &bus, .unit = 1, .every_s = 1, .reads = &read, .read_count = 1};
    const struct source_instrument instrument = {.config = &config};
    const struct source_config source_config = {
        .bus = &bus, .instruments = &instrument, .instrument_count = 1, .clock_trusted = true};
    struct busrun *run = busrun_start(BUS_MODBUS_TCP, "1", 1, 1, 100); /* lends its sink */
    struct source *source;
    assert_int_equal(source_start(&source_config, (struct sink *)run, &source), RC_OK);
    clock_sleep_ms(1600);
    int64_t before = clock_now().mono_ms;
    source_stop(source);
    assert_true(clock_now().mono_ms - before <= 500);
    busrun_free(run);
    close(first);
    close(second);
    close(listener);
}

static void a_serial_device_in_use_by_another_master_is_left_alone(void **state)
{
    (void)state;
    struct unruly *device = unruly_rtu();
    int other = open(unruly_address(device), O_RDWR | O_NOCTTY);
    assert_true(other >= 0);
    assert_int_equal(flock(other, LOCK_EX | LOCK_NB), 0);
    struct busrun *run = busrun_start(BUS_MODBUS_RTU, unruly_address(device), 1, 1, 100);
    assert_true(busrun_wait(run, 2));
    assert_int_equal(unruly_requests(device, 1), 0);
    assert_int_equal(busrun_count(run, 0, GAP_NO_DEVICE), 2);
    close(other);
    assert_true(busrun_wait(run, 5));
    assert_true(busrun_count(run, 0, GAP_NONE) >= 1);
    /* And while we use it, it is taken. */
    other = open(unruly_address(device), O_RDWR | O_NOCTTY);
    assert_true(other >= 0);
    assert_int_equal(flock(other, LOCK_EX | LOCK_NB), -1);
    assert_int_equal(errno, EWOULDBLOCK);
    close(other);
    busrun_free(run);
    unruly_free(device);
}

static void descriptors_beyond_what_libmodbus_bears_are_a_gap(void **state)
{
    (void)state;
    enum {
        FILES = 1100
    };
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_NOFILE, &limit), 0);
    const rlim_t before = limit.rlim_cur;
    limit.rlim_cur = FILES + 100;
    if (limit.rlim_max < limit.rlim_cur || setrlimit(RLIMIT_NOFILE, &limit) != 0)
        skip();
    struct unruly *devices[2] = {unruly_tcp(), unruly_rtu()};
    int held[FILES], n = 0;
    while (n < FILES && (held[n] = open("/dev/null", O_RDONLY)) >= 0 && held[n] < 1050)
        n++;
    struct busrun *runs[2];
    for (int k = 0; k < 2; k++)
        runs[k] = busrun_start(kinds[k], unruly_address(devices[k]), 1, 1, 100);
    for (int k = 0; k < 2; k++)
        assert_true(busrun_wait(runs[k], 2));
    for (int i = 0; i <= n && i < FILES; i++)
        close(held[i]);
    assert_int_equal(busrun_count(runs[0], 0, GAP_NO_CONNECTION), 2);
    assert_int_equal(busrun_count(runs[1], 0, GAP_NO_DEVICE), 2);
    for (int k = 0; k < 2; k++) { /* and it goes on once there is room */
        assert_true(busrun_wait(runs[k], 6));
        assert_true(busrun_count(runs[k], 0, GAP_NONE) >= 1);
        busrun_free(runs[k]);
        unruly_free(devices[k]);
    }
    limit.rlim_cur = before;
    assert_int_equal(setrlimit(RLIMIT_NOFILE, &limit), 0);
}

static void the_thread_shows_that_it_moves(void **state)
{
    (void)state;
    struct unruly *device = unruly_tcp();
    struct busrun *run = busrun_start(BUS_MODBUS_TCP, unruly_address(device), 1, 60, 100);
    int64_t first = source_moved_ms(busrun_source(run));
    clock_sleep_ms(2500);
    int64_t second = source_moved_ms(busrun_source(run));
    assert_true(second >= first + 1000);
    assert_true(clock_now().mono_ms - second <= 1500);
    busrun_free(run);
    unruly_free(device);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(of_sixteen_units_half_are_dead_and_the_live_keep_every_slot),
        cmocka_unit_test(a_line_that_goes_and_comes_back_is_used_again),
        cmocka_unit_test(
            a_device_that_is_not_there_at_the_start_is_a_gap_and_used_when_it_comes),
        cmocka_unit_test(an_idle_gateway_that_hung_up_costs_no_reading),
        cmocka_unit_test(stopping_takes_no_longer_than_one_response_timeout_while_a_peer_hangs),
        cmocka_unit_test(a_gateway_that_never_accepts_does_not_hold_up_the_stop),
        cmocka_unit_test(a_serial_device_in_use_by_another_master_is_left_alone),
        cmocka_unit_test(descriptors_beyond_what_libmodbus_bears_are_a_gap),
        cmocka_unit_test(the_thread_shows_that_it_moves),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
