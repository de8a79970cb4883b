/* helper_source.c - runs a source for some seconds and prints what it puts, one reading a
 * line: "channel t value gap detail".
 *
 *     helper_source tcp PORT EVERY_S SECONDS UNIT...
 *     helper_source rtu DEVICE EVERY_S SECONDS UNIT...
 *
 * Each unit is asked for input registers 0 and 1 (uint16, kept as they are); the channels of
 * the n-th unit are 2n and 2n + 1.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "source/source.h"

enum {
    UNITS_MAX = 32
};

static void print(struct sink *sink, const struct reading *readings, unsigned count)
{
    (void)sink;
    for (unsigned i = 0; i < count; i++)
        printf("%u %lld %d %s %u\n", readings[i].channel, (long long)readings[i].t_s,
               readings[i].value, gap_reason_word((enum gap_reason)readings[i].gap),
               readings[i].detail);
    fflush(stdout);
}

static int number(const char *text)
{
    return (int)strtol(text, NULL, 10);
}

int main(int argc, char **argv)
{
    if (argc < 6 || argc > 5 + UNITS_MAX) {
        fprintf(stderr, "usage: helper_source tcp|rtu PORT|DEVICE EVERY_S SECONDS UNIT...\n");
        return 2;
    }
    const struct site_bus bus = {
        .name = "test",
        .kind = strcmp(argv[1], "tcp") == 0 ? BUS_MODBUS_TCP : BUS_MODBUS_RTU,
        .device = argv[2],
        .host = "127.0.0.1",
        .port = argv[2],
        .baud = 19200,
        .parity = PARITY_NONE,
        .stop_bits = 1,
        .response_ms = 300,
        .byte_ms = 50,
    };
    const struct site_read reads[2] = {
        {.quantity = QUANTITY_TEMPERATURE,
         .table = TABLE_INPUT,
         .address = 0,
         .type = TYPE_UINT16,
         .scale = 0.01},
        {.quantity = QUANTITY_HUMIDITY,
         .table = TABLE_INPUT,
         .address = 1,
         .type = TYPE_UINT16,
         .scale = 0.01},
    };
    struct site_instrument configs[UNITS_MAX] = {{.name = NULL}};
    struct source_instrument instruments[UNITS_MAX] = {{.config = NULL}};
    size_t count = (size_t)argc - 5;
    for (size_t i = 0; i < count; i++) {
        configs[i] = (struct site_instrument){.name = argv[5 + i],
                                              .bus = &bus,
                                              .unit = number(argv[5 + i]),
                                              .every_s = number(argv[3]),
                                              .reads = reads,
                                              .read_count = 2};
        instruments[i].config = &configs[i];
        instruments[i].channel[0] = (uint32_t)(2 * i);
        instruments[i].channel[1] = (uint32_t)(2 * i + 1);
    }
    const struct source_config config = {.bus = &bus,
                                         .instruments = instruments,
                                         .instrument_count = count,
                                         .clock_trusted = true};
    struct sink sink = {.put = print};
    struct source *source;
    if (source_start(&config, &sink, &source) != RC_OK)
        return 1;
    clock_sleep_ms(number(argv[4]) * INT64_C(1000));
    source_stop(source);
    return 0;
}
