/* test_site.c - the site file as a whole: what a sound one gives. */
#include "support/site_text.h"

#include <stdlib.h>
#include <unistd.h>

static const char example[] = "[studio]\n"
                              "name = Harbour Lane Studio\n"
                              "timezone = Europe/London\n"
                              "altitude_m = 40\n"
                              "working_hours = Mo-Fr 08:30-18:00\n"
                              "\n"
                              "[store]\n"
                              "path = /var/lib/stillroom/stillroom.db\n"
                              "\n"
                              "[http]\n"
                              "listen = 127.0.0.1:8620\n"
                              "\n"
                              "[bus bench-line]\n"
                              "kind = modbus-rtu\n"
                              "device = /dev/ttyUSB0\n"
                              "baud = 9600\n"
                              "parity = even\n"
                              "\n"
                              "[instrument dr-1]\n"
                              "bus = bench-line\n"
                              "unit = 3\n"
                              "serial = 41177\n"
                              "every = 30 s\n"
                              "zone = drying-room\n"
                              "read = temperature  input 1 int16  x0.1\n"
                              "read = humidity     input 2 uint16 x0.1\n"
                              "uncertainty = temperature 0.3, humidity 2\n"
                              "\n"
                              "[zone drying-room]\n"
                              "title = Drying room\n"
                              "purpose = drying\n"
                              "\n"
                              "[limit drying-room-damp]\n"
                              "zone = drying-room\n"
                              "rule = humidity above 65\n"
                              "on_delay = 30 min\n"
                              "deadband = 3\n"
                              "priority = medium\n"
                              "tell = keyholder\n"
                              "\n"
                              "[person keyholder]\n"
                              "mail = keyholder@studio.example\n";

static void the_example_gives_its_studio_store_and_http(void **state)
{
    (void)state;
    struct site *s = site_text_sound(example, strlen(example));
    assert_string_equal(s->path, "site.ini");
    assert_int_equal(s->text.len, strlen(example));
    assert_memory_equal(s->text.data, example, strlen(example));
    assert_string_equal(s->studio, "Harbour Lane Studio");
    assert_string_equal(s->timezone, "Europe/London");
    assert_near(s->altitude_m, 40, 0);
    assert_string_equal(s->working_hours, "Mo-Fr 08:30-18:00");
    assert_int_equal(s->working_days, 0x1F);
    assert_int_equal(s->working_from_min, 510);
    assert_int_equal(s->working_to_min, 1080);
    assert_false(s->demo);
    assert_false(s->clock_trusted);
    assert_string_equal(s->store_path, "/var/lib/stillroom/stillroom.db");
    assert_string_equal(s->key_path, "/var/lib/stillroom/stillroom.db.key");
    assert_string_equal(s->http_host, "127.0.0.1");
    assert_string_equal(s->http_port, "8620");
    assert_false(s->http_off);
    assert_false(s->behind_proxy);
    assert_null(s->http_names[0]);
    site_free(s);
}

static void the_example_gives_its_wiring(void **state)
{
    (void)state;
    struct site *s = site_text_sound(example, strlen(example));
    assert_int_equal(s->bus_count, 1);
    const struct site_bus *bus = &s->buses[0];
    assert_string_equal(bus->name, "bench-line");
    assert_int_equal(bus->kind, BUS_MODBUS_RTU);
    assert_string_equal(bus->device, "/dev/ttyUSB0");
    assert_int_equal(bus->baud, 9600);
    assert_int_equal(bus->parity, PARITY_EVEN);
    assert_int_equal(bus->stop_bits, 1);
    assert_int_equal(bus->response_ms, 500);
    assert_int_equal(bus->byte_ms, 50);
    assert_int_equal(bus->line, 13);

    assert_int_equal(s->instrument_count, 1);
    const struct site_instrument *in = &s->instruments[0];
    assert_string_equal(in->name, "dr-1");
    assert_ptr_equal(in->bus, bus);
    assert_int_equal(in->unit, 3);
    assert_string_equal(in->serial, "41177");
    assert_int_equal(in->every_s, 30);
    assert_ptr_equal(in->zone, &s->zones[0]);
    assert_string_equal(in->placement, "");
    assert_int_equal(in->line, 19);
    assert_int_equal(in->read_count, 2);
    static const struct site_read want[] = {
        {.quantity = QUANTITY_TEMPERATURE,
         .address = 1,
         .type = TYPE_INT16,
         .uncertainty = 0.3},
        {.quantity = QUANTITY_HUMIDITY, .address = 2, .type = TYPE_UINT16, .uncertainty = 2}};
    for (size_t i = 0; i < 2; i++) {
        const struct site_read *r = &in->reads[i];
        assert_int_equal(r->quantity, want[i].quantity);
        assert_int_equal(r->table, TABLE_INPUT);
        assert_int_equal(r->address, want[i].address);
        assert_int_equal(r->type, want[i].type);
        assert_near(r->scale, 0.1, 0);
        assert_near(r->offset, 0, 0);
        assert_int_equal(r->none_count, 0);
        assert_near(r->uncertainty, want[i].uncertainty, 0);
    }

    assert_int_equal(s->zone_count, 1);
    assert_string_equal(s->zones[0].name, "drying-room");
    assert_string_equal(s->zones[0].title, "Drying room");
    assert_int_equal(s->zones[0].purpose, PURPOSE_DRYING);
    assert_ptr_equal(s->zones[0].lead, in);
    assert_int_equal(s->zones[0].line, 29);
    site_free(s);
}

static void the_example_gives_its_limit_and_person(void **state)
{
    (void)state;
    struct site *s = site_text_sound(example, strlen(example));
    assert_int_equal(s->recipient_count, 1);
    assert_string_equal(s->recipients[0].name, "keyholder");
    assert_string_equal(s->recipients[0].mail, "keyholder@studio.example");
    assert_int_equal(s->recipients[0].line, 41);

    assert_true(s->limit_count >= 1);
    const struct site_limit *l = &s->limits[0];
    assert_string_equal(l->name, "drying-room-damp");
    assert_ptr_equal(l->zone, &s->zones[0]);
    assert_null(l->instrument);
    assert_int_equal(l->rule, RULE_ABOVE);
    assert_int_equal(l->quantity, QUANTITY_HUMIDITY);
    assert_near(l->value, 65, 0);
    assert_int_equal(l->on_delay_s, 1800);
    assert_int_equal(l->off_delay_s, 0);
    assert_near(l->deadband, 3, 0);
    assert_int_equal(l->priority, PRIORITY_MEDIUM);
    assert_ptr_equal(l->tell[0], &s->recipients[0]);
    assert_string_equal(l->source, "set in the site file");
    assert_int_equal(l->line, 33);
    for (size_t i = 1; i < s->limit_count; i++)
        assert_string_not_equal(s->limits[i].name, "drying-room-damp");
    site_free(s);
}

static void what_is_not_said_has_its_default(void **state)
{
    (void)state;
    struct site *s = site_text_sound("", 0);
    assert_string_equal(s->studio, "Studio");
    assert_string_equal(s->timezone, "UTC");
    assert_near(s->altitude_m, 0, 0);
    assert_string_equal(s->working_hours, "Mo-Fr 08:00-18:00");
    assert_string_equal(s->store_path, "/var/lib/stillroom/stillroom.db");
    assert_string_equal(s->http_host, "127.0.0.1");
    assert_string_equal(s->http_port, "8620");
    assert_null(s->http_names[0]);
    assert_int_equal(s->bus_count + s->instrument_count + s->zone_count + s->limit_count +
                         s->recipient_count,
                     0);
    site_free(s);
}

static void every_simple_key_is_taken(void **state)
{
    (void)state;
    static const char text[] = "[studio]\ndemo = yes\nclock = trusted\naltitude_m = -3.5\n"
                               "[store]\npath = x.db\nkey_file = k.key\n"
                               "[http]\nlisten = [::1]:80\nnames = a.example, b\n"
                               "behind_proxy = no\n";
    struct site *s = site_text_sound(text, strlen(text));
    assert_true(s->demo);
    assert_true(s->clock_trusted);
    assert_near(s->altitude_m, -3.5, 0);
    assert_string_equal(s->store_path, "x.db");
    assert_string_equal(s->key_path, "k.key");
    assert_string_equal(s->http_host, "::1");
    assert_string_equal(s->http_port, "80");
    assert_string_equal(s->http_names[0], "a.example");
    assert_string_equal(s->http_names[1], "b");
    assert_null(s->http_names[2]);
    assert_false(s->behind_proxy);
    site_free(s);
    s = site_text_sound("[http]\nlisten = none\n", 21);
    assert_true(s->http_off);
    site_free(s);
    s = site_text_sound("[http]\nlisten = localhost:1\n", 28);
    assert_string_equal(s->http_host, "localhost");
    site_free(s);
    s = site_text_sound("[http]\nlisten = 127.8.0.1:65535\n", 32);
    assert_string_equal(s->http_host, "127.8.0.1");
    assert_string_equal(s->http_port, "65535");
    site_free(s);
}

static void a_bus_takes_the_rest_of_its_keys(void **state)
{
    (void)state;
    static const char text[] =
        "[bus a]\nkind = modbus-rtu\ndevice = /dev/a\nparity = none\nbaud = 115200\n"
        "response_timeout = 2 s\nbyte_timeout = 1 ms\n"
        "[bus b]\nkind = modbus-rtu\ndevice = /dev/b\nparity = odd\nstop_bits = 2\n"
        "[bus c]\nkind = modbus-tcp\naddress = gateway.example\n"
        "[bus d]\nkind = modbus-tcp\naddress = [fe80::1%eth0]:1502\n";
    struct site *s = site_text_sound(text, strlen(text));
    assert_int_equal(s->buses[0].parity, PARITY_NONE);
    assert_int_equal(s->buses[0].stop_bits, 2); /* 11 bits a character: Modbus over serial line
                                                   V1.02, 2.5.1 */
    assert_int_equal(s->buses[0].baud, 115200);
    assert_int_equal(s->buses[0].response_ms, 2000);
    assert_int_equal(s->buses[0].byte_ms, 1);
    assert_int_equal(s->buses[1].parity, PARITY_ODD);
    assert_int_equal(s->buses[1].stop_bits, 2);
    assert_int_equal(s->buses[2].kind, BUS_MODBUS_TCP);
    assert_string_equal(s->buses[2].host, "gateway.example");
    assert_string_equal(s->buses[2].port, "502"); /* IANA: mbap */
    assert_string_equal(s->buses[3].host, "fe80::1%eth0");
    assert_string_equal(s->buses[3].port, "1502");
    site_free(s);
}

static void a_map_is_named_once_and_an_instrument_may_differ_from_it(void **state)
{
    (void)state;
    static const char text[] =
        "[instrument one]\nbus = b\nunit = 1\nzone = z\nmap = m\nuncertainty = humidity 1.5\n"
        "placement = 1.5 m up the north wall\n"
        "[instrument two]\nbus = b\nunit = 2\nzone = z\nmap = m\nread = humidity input 9 "
        "uint16\n"
        "[map m]\nread = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
        "uncertainty = temperature 0.3, humidity 3\n"
        "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\nlead = two\n";
    struct site *s = site_text_sound(text, strlen(text));
    const struct site_instrument *one = &s->instruments[0], *two = &s->instruments[1];
    assert_int_equal(one->read_count, 2);
    assert_int_equal(one->reads[0].quantity, QUANTITY_TEMPERATURE);
    assert_near(one->reads[0].uncertainty, 0.3, 0);
    assert_int_equal(one->reads[1].address, 1);
    assert_near(one->reads[1].uncertainty, 1.5, 0);
    assert_string_equal(one->placement, "1.5 m up the north wall");
    assert_int_equal(one->every_s, 60);
    assert_int_equal(two->read_count, 2);
    assert_int_equal(two->reads[0].quantity, QUANTITY_HUMIDITY);
    assert_int_equal(two->reads[0].address, 9);
    assert_true(isnan(two->reads[0].uncertainty)); /* the map's was of another register */
    assert_near(two->reads[1].uncertainty, 0.3, 0);
    assert_ptr_equal(s->zones[0].lead, two);
    site_free(s);
}

static void a_zone_is_led_by_the_first_that_gives_its_air(void **state)
{
    (void)state;
    static const char text[] =
        "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\n[zone empty]\n"
        "[instrument door]\nbus = b\nzone = z\nread = door coil 0 bit\n"
        "[instrument air]\nbus = b\nzone = z\nread = temperature input 0 int16\n"
        "read = humidity input 1 int16\n";
    struct site *s = site_text_sound(text, strlen(text));
    assert_ptr_equal(s->zones[0].lead, &s->instruments[1]);
    assert_string_equal(s->zones[0].title, "z");
    assert_int_equal(s->zones[0].purpose, PURPOSE_OTHER);
    assert_null(s->zones[1].lead);
    assert_int_equal(s->instruments[0].unit, 1); /* one device at an address of its own */
    site_free(s);
}

static void a_file_is_read_as_its_text_is(void **state)
{
    (void)state;
    char path[] = "/tmp/stillroom-site-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, example, strlen(example)), (ssize_t)strlen(example));
    (void)close(fd);
    struct buf mistakes = {0};
    struct site *s = NULL;
    assert_int_equal(site_read(path, &mistakes, &s), RC_OK);
    assert_string_equal(s->path, path);
    assert_int_equal(s->text.len, strlen(example));
    assert_string_equal(s->zones[0].name, "drying-room");
    site_free(s);
    assert_int_equal(unlink(path), 0);

    s = NULL;
    assert_int_equal(site_read(path, &mistakes, &s), RC_NOT_FOUND);
    assert_non_null(strstr(mistakes.data, "cannot be read"));
    assert_null(s);
    buf_clear(&mistakes);
    assert_int_equal(site_read("/tmp", &mistakes, &s), RC_IO);
    assert_non_null(strstr(mistakes.data, "directory"));
    buf_free(&mistakes);
    site_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_example_gives_its_studio_store_and_http),
        cmocka_unit_test(the_example_gives_its_wiring),
        cmocka_unit_test(the_example_gives_its_limit_and_person),
        cmocka_unit_test(what_is_not_said_has_its_default),
        cmocka_unit_test(every_simple_key_is_taken),
        cmocka_unit_test(a_bus_takes_the_rest_of_its_keys),
        cmocka_unit_test(a_map_is_named_once_and_an_instrument_may_differ_from_it),
        cmocka_unit_test(a_zone_is_led_by_the_first_that_gives_its_air),
        cmocka_unit_test(a_file_is_read_as_its_text_is),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
