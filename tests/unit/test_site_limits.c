/* test_site_limits.c - limits: the rules of a file, the defaults by purpose, their words. */
#include "support/site_text.h"

#include <stdlib.h>

#include "site/defaults.h"

/* A zone of a purpose in which everything that can be read is read: 23 lines. */
static void wired(const char *purpose, const char *more, struct buf *out)
{
    buf_printf(out,
               "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\npurpose = %s\n"
               "[instrument air]\nbus = b\nzone = z\nread = temperature input 0 int16\n"
               "read = humidity input 1 int16\nread = surface_temperature input 2 int16\n"
               "read = wood_moisture input 3 uint16\nread = leak coil 0 bit\n"
               "read = mains coil 1 bit\nread = door coil 2 bit\nread = tank_full coil 3 bit\n"
               "read = plant_running coil 4 bit\n"
               "[instrument thermometer]\nbus = b\nzone = z\nevery = 30 min\n"
               "read = temperature input 9 int16\n\n%s",
               purpose, more);
}

static struct site *sound(const char *purpose, const char *more)
{
    struct buf text = {0};
    wired(purpose, more, &text);
    struct site *s = site_text_sound(text.data, text.len);
    buf_free(&text);
    return s;
}

static const struct site_limit *find(const struct site *s, const char *name)
{
    for (size_t i = 0; i < s->limit_count; i++)
        if (strcmp(s->limits[i].name, name) == 0)
            return &s->limits[i];
    return NULL;
}

/* A limit that must be there. */
static const struct site_limit *limit(const struct site *s, const char *name)
{
    const struct site_limit *l = find(s, name);
    if (l == NULL) {
        fail_msg("no limit %s", name);
        abort(); /* fail_msg has left already; the compiler does not know */
    }
    return l;
}

static void text_is(const struct site_limit *l, const char *want)
{
    struct buf text = {0};
    site_limit_text(l, &text);
    assert_string_equal(text.data, want);
    buf_free(&text);
}

enum {
    H = 3600,
    DAY = 86400
};

static const struct {
    const char *rule;
    struct site_limit want;
    const char *text;
} good[] = {
    {"humidity above 65",
     {.rule = RULE_ABOVE,
      .quantity = QUANTITY_HUMIDITY,
      .value = 65,
      .on_delay_s = 1800,
      .deadband = 3},
     "humidity above 65 % for 30 min"},
    {"humidity   below\t35.5",
     {.rule = RULE_BELOW,
      .quantity = QUANTITY_HUMIDITY,
      .value = 35.5,
      .on_delay_s = 1800,
      .deadband = 3},
     "humidity below 35.5 % for 30 min"},
    {"temperature below -5",
     {.rule = RULE_BELOW, .value = -5, .on_delay_s = 1800, .deadband = 0.5},
     "temperature below -5 °C for 30 min"},
    {"mould_index above 1",
     {.rule = RULE_ABOVE,
      .quantity = QUANTITY_MOULD_INDEX,
      .value = 1,
      .on_delay_s = 1800,
      .deadband = 0.1},
     "mould index above 1 for 30 min"},
    {"humidity range above 10 within 24 h",
     {.rule = RULE_RANGE,
      .quantity = QUANTITY_HUMIDITY,
      .value = 10,
      .window_s = DAY,
      .on_delay_s = 1800,
      .deadband = 2},
     "humidity range above 10 % within 24 h for 30 min"},
    {"temperature range above 4 within 1h",
     {.rule = RULE_RANGE, .value = 4, .window_s = H, .on_delay_s = 1800, .deadband = 0.8},
     "temperature range above 4 K within 1 h for 30 min"},
    {"wood_moisture range above 2 within 7 d",
     {.rule = RULE_RANGE,
      .quantity = QUANTITY_WOOD_MOISTURE,
      .value = 2,
      .window_s = 7 * DAY,
      .on_delay_s = 1800,
      .deadband = 0.4},
     "wood moisture range above 2 % within 7 d for 30 min"},
    {"dew margin below 3",
     {.rule = RULE_DEW_MARGIN,
      .quantity = QUANTITY_DEW_MARGIN,
      .value = 3,
      .on_delay_s = 1800,
      .deadband = 0.5},
     "dew margin below 3 K for 30 min"},
    {"dew_margin below 3",
     {.rule = RULE_DEW_MARGIN,
      .quantity = QUANTITY_DEW_MARGIN,
      .value = 3,
      .on_delay_s = 1800,
      .deadband = 0.5},
     "dew margin below 3 K for 30 min"},
    {"tank_full is on",
     {.rule = RULE_CONTACT, .quantity = QUANTITY_TANK_FULL, .on = true},
     "tank full is on"},
    {"mains is off", {.rule = RULE_CONTACT, .quantity = QUANTITY_MAINS}, "mains is off"},
};

static void each_rule_gives_its_members_defaults_and_words(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        struct buf more = {0};
        buf_printf(&more, "[limit mine]\nzone = z\nrule = %s\n", good[i].rule);
        struct site *s = sound("other", more.data);
        const struct site_limit *got = limit(s, "mine"), *want = &good[i].want;
        assert_ptr_equal(got->zone, &s->zones[0]);
        assert_null(got->instrument);
        assert_int_equal(got->rule, want->rule);
        assert_int_equal(got->quantity, want->quantity);
        assert_near(got->value, want->value, 0);
        assert_int_equal(got->window_s, want->window_s);
        assert_int_equal(got->on, want->on);
        assert_int_equal(got->on_delay_s, want->on_delay_s);
        assert_int_equal(got->off_delay_s, 0);
        assert_near(got->deadband, want->deadband, 1e-12);
        assert_int_equal(got->priority, PRIORITY_MEDIUM);
        assert_null(got->tell);
        text_is(got, good[i].text);
        site_free(s);
        buf_free(&more);
    }
}

static void a_limit_takes_all_its_keys(void **state)
{
    (void)state;
    struct site *s = sound("other", "[limit mine]\ninstrument = thermometer\n"
                                    "rule = temperature above 26\non_delay = 90 s\n"
                                    "off_delay = 2 d\ndeadband = 1.5\npriority = highest\n"
                                    "tell = anna\nsource = letter of the lender, 3 May\n"
                                    "[person anna]\n[person ben]\nmail = ben@studio.example\n");
    const struct site_limit *l = limit(s, "mine");
    assert_null(l->zone);
    assert_ptr_equal(l->instrument, &s->instruments[1]);
    assert_int_equal(l->on_delay_s, 90);
    assert_int_equal(l->off_delay_s, 2 * DAY);
    assert_near(l->deadband, 1.5, 0);
    assert_int_equal(l->priority, PRIORITY_HIGHEST);
    assert_string_equal(l->tell[0]->name, "anna");
    assert_null(l->tell[0]->mail);
    assert_string_equal(l->source, "letter of the lender, 3 May");
    assert_int_equal(l->line, 24);
    text_is(l, "temperature above 26 °C for 90 s");
    /* Of two persons none is told what names nobody. */
    assert_null(limit(s, "z-damp-75")->tell);
    site_free(s);
}

static void whom_a_limit_tells_comes_from_it_the_studio_or_the_only_person(void **state)
{
    (void)state;
    struct site *s = sound("other", "[person anna]\n");
    assert_string_equal(limit(s, "z-damp-75")->tell[0]->name, "anna");
    site_free(s);
    s = sound("other", "[person anna]\n[person ben]\n[studio]\ntell = ben\n"
                       "[limit l]\nzone = z\nrule = humidity above 99\ntell = nobody\n");
    assert_string_equal(limit(s, "z-damp-75")->tell[0]->name, "ben");
    assert_null(limit(s, "l")->tell);
    site_free(s);
    s = sound("other", "[person anna]\n[command bell]\npath = /bin/bell\narguments = -n  2\n"
                       "[webhook desk]\nurl = https://desk.example/in\n"
                       "[studio]\ntell = desk, anna bell,anna\n");
    const struct site_limit *l = limit(s, "z-damp-75");
    assert_int_equal(l->tell_count, 3);
    assert_string_equal(l->tell[0]->url, "https://desk.example/in");
    assert_string_equal(l->tell[1]->name, "anna");
    assert_string_equal(l->tell[2]->arguments[0], "/bin/bell");
    assert_string_equal(l->tell[2]->arguments[1], "-n");
    assert_string_equal(l->tell[2]->arguments[2], "2");
    assert_null(l->tell[2]->arguments[3]);
    site_free(s);
    s = sound("other", "[person anna]\n[studio]\ntell = nobody\n");
    assert_null(limit(s, "z-damp-75")->tell);
    site_free(s);
}

static void silence_is_longer_than_a_few_polls(void **state)
{
    (void)state;
    struct site *s =
        sound("other", "[limit quiet]\nzone = z\nrule = silent\n"
                       "[limit soon]\nzone = z\nrule = silent\non_delay = 5 min\n");
    /* The thermometer is read every 30 min, the air every 60 s. */
    assert_int_equal(limit(s, "quiet")->on_delay_s, 90 * 60);
    assert_int_equal(limit(s, "soon")->on_delay_s, 5 * 60);
    assert_int_equal(limit(s, "air-silent")->on_delay_s, 20 * 60);
    assert_int_equal(limit(s, "thermometer-silent")->on_delay_s, 90 * 60);
    assert_ptr_equal(limit(s, "air-silent")->instrument, &s->instruments[0]);
    text_is(limit(s, "air-silent"), "silent for 20 min");
    site_free(s);
}

/* The trade's table of limits by purpose; figures: common practice and project choices. */
static const struct {
    const char *purpose, *name, *text;
    enum site_priority priority;
} by_purpose[] = {
    {"drying", "z-damp", "humidity above 65 % for 30 min", PRIORITY_MEDIUM},
    {"drying", "z-dew", "dew margin below 3 K for 15 min", PRIORITY_MEDIUM},
    {"bench", "z-damp", "humidity above 65 % for 1 h", PRIORITY_MEDIUM},
    {"bench", "z-dry", "humidity below 35 % for 1 h", PRIORITY_MEDIUM},
    {"store", "z-damp-60", "humidity above 60 % for 6 h", PRIORITY_DIGEST},
    {"store", "z-damp", "humidity above 65 % for 2 h", PRIORITY_MEDIUM},
    {"store", "z-swing", "humidity range above 10 % within 24 h for 1 h", PRIORITY_LOW},
    {"store", "z-cold", "temperature below 5 °C for 30 min", PRIORITY_HIGH},
    {"quarantine", "z-damp", "humidity above 60 % for 2 h", PRIORITY_MEDIUM},
    {"quarantine", "z-damp-70", "humidity above 70 % for 1 h", PRIORITY_HIGH},
    {"gallery", "z-damp", "humidity above 60 % for 1 h", PRIORITY_LOW},
    {"gallery", "z-dry", "humidity below 40 % for 1 h", PRIORITY_LOW},
    {"gallery", "z-swing", "humidity range above 20 % within 24 h for 1 h", PRIORITY_LOW},
};

static const struct {
    const char *name, *text;
    enum site_priority priority;
    bool everywhere; /* in a chamber and outdoors as well */
} by_room[] = {
    {"z-damp-75", "humidity above 75 % for 30 min", PRIORITY_HIGH, false},
    {"z-dry-30", "humidity below 30 % for 2 h", PRIORITY_MEDIUM, false},
    {"z-dry-25", "humidity below 25 % for 30 min", PRIORITY_HIGH, false},
    {"z-cold-surface", "surface humidity above 80 % for 6 h", PRIORITY_MEDIUM, false},
    {"z-leak", "leak is on", PRIORITY_HIGHEST, true},
    {"z-mains", "mains is off for 5 min", PRIORITY_MEDIUM, true},
    {"z-tank-full", "tank full is on for 5 min", PRIORITY_MEDIUM, true},
};

static void check_default(const struct site *s, const char *name, const char *text,
                          enum site_priority priority)
{
    const struct site_limit *l = limit(s, name);
    assert_ptr_equal(l->zone, &s->zones[0]);
    text_is(l, text);
    assert_int_equal(l->priority, priority);
    assert_true(strlen(l->source) > 0);
    if (l->quantity == QUANTITY_HUMIDITY && l->rule != RULE_RANGE)
        assert_near(l->deadband, 3, 0);
}

static void every_purpose_has_its_limits_and_no_other(void **state)
{
    (void)state;
    static const char *const purposes[] = {"drying",  "bench",   "store", "quarantine",
                                           "gallery", "chamber", "crate", "transit",
                                           "outdoor", "other"};
    for (size_t p = 0; p < sizeof purposes / sizeof purposes[0]; p++) {
        struct site *s = sound(purposes[p], "");
        size_t expected = 2; /* the two instruments' silence */
        for (size_t i = 0; i < sizeof by_purpose / sizeof by_purpose[0]; i++)
            if (strcmp(by_purpose[i].purpose, purposes[p]) == 0) {
                check_default(s, by_purpose[i].name, by_purpose[i].text,
                              by_purpose[i].priority);
                expected++;
            }
        bool outside =
            strcmp(purposes[p], "chamber") == 0 || strcmp(purposes[p], "outdoor") == 0;
        for (size_t i = 0; i < sizeof by_room / sizeof by_room[0]; i++)
            if (by_room[i].everywhere || !outside) {
                check_default(s, by_room[i].name, by_room[i].text, by_room[i].priority);
                expected++;
            }
        assert_int_equal(s->limit_count, expected);
        assert_string_equal(site_purpose_word(s->zones[0].purpose), purposes[p]);
        site_free(s);
    }
}

static void a_zone_has_no_default_for_what_nothing_reads(void **state)
{
    (void)state;
    static const char text[] = "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\n"
                               "purpose = drying\n[zone bare]\npurpose = store\n"
                               "[instrument a]\nbus = b\nzone = z\n"
                               "read = humidity input 0 int16\n";
    struct site *s = site_text_sound(text, sizeof text - 1);
    assert_non_null(find(s, "z-damp"));
    assert_non_null(find(s, "a-silent"));
    assert_null(find(s, "z-dew"));
    assert_null(find(s, "z-cold-surface"));
    assert_null(find(s, "z-leak"));
    assert_int_equal(s->limit_count, 5); /* damp, damp-75, dry-30, dry-25, silent */
    site_free(s);
}

static void a_default_is_switched_off_or_replaced_by_its_name(void **state)
{
    (void)state;
    struct site *s =
        sound("store", "[limit z-damp]\noff = yes\n"
                       "[limit z-cold]\nzone = z\nrule = temperature below 8\n"
                       "[limit air-silent]\noff = yes\n"
                       "[limit spare]\nzone = z\nrule = humidity above 50\noff = yes\n");
    assert_null(find(s, "z-damp"));
    assert_null(find(s, "air-silent"));
    assert_null(find(s, "spare"));
    assert_non_null(find(s, "z-damp-60"));
    assert_near(limit(s, "z-cold")->value, 8, 0);
    size_t cold = 0;
    for (size_t i = 0; i < s->limit_count; i++)
        cold += strcmp(s->limits[i].name, "z-cold") == 0;
    assert_int_equal(cold, 1);
    site_free(s);

    s = sound("store", "[studio]\ndefaults = no\n[limit mine]\nzone = z\nrule = leak is on\n");
    assert_int_equal(s->limit_count, 1);
    assert_string_equal(s->limits[0].name, "mine");
    site_free(s);
}

static void names_of_defaults_cannot_meet(void **state)
{
    (void)state;
    size_t n = 0;
    const struct defaults_row *rows = defaults_rows(&n);
    assert_true(n > 0);
    for (size_t i = 0; i < n; i++) {
        assert_true(strlen(rows[i].source) > 0);
        for (size_t k = 0; k < n; k++) {
            /* zone "a-x" with "y" and zone "a" with "x-y" would be one name. */
            size_t li = strlen(rows[i].what), lk = strlen(rows[k].what);
            if (li > lk)
                assert_string_not_equal(rows[i].what + (li - lk), rows[k].what);
            if (i != k && (rows[i].purposes & rows[k].purposes) != 0)
                assert_string_not_equal(rows[i].what, rows[k].what);
        }
    }
}

static const struct {
    const char *more, *want; /* `more` begins in line 24 */
} wrong[] = {
    {"[limit l]\nzone = z\n", "24: [limit l] has no rule; allowed: rule = humidity above 65"},
    {"[limit l]\nrule = silent\n",
     "24: [limit l] has no zone and no instrument; allowed: zone = NAME or instrument = NAME"},
    {"[limit l]\nzone = z\ninstrument = air\nrule = silent\n",
     "24: [limit l] has both a zone and an instrument; allowed: zone = NAME or instrument = "
     "NAME"},
    {"[limit l]\nzone = y\nrule = silent\n",
     "25: \"y\" for zone in [limit l]; allowed: the NAME of a section [zone NAME]: z"},
    {"[limit l]\ninstrument = y\nrule = silent\n",
     "25: \"y\" for instrument in [limit l]; allowed: the NAME of a section [instrument NAME]: "
     "air, "
     "thermometer"},
    {"[limit l]\ninstrument = thermometer\nrule = humidity above 65\n",
     "26: rule in [limit l]: nothing there reads humidity; allowed: what the instruments of "
     "its "
     "zone read"},
    {"[limit l]\ninstrument = air\nrule = dew margin below 3\n",
     "26: rule in [limit l]: dew_margin is worked out for a zone, not for an instrument; "
     "allowed: zone = NAME"},
    {"[zone bare]\n[limit l]\nzone = bare\nrule = dew margin below 3\n",
     "27: rule in [limit l]: nothing there reads dew_margin or what it is worked out from; "
     "allowed: what the instruments of its zone read"},
    {"[limit l]\nzone = z\nrule = humidity above 65 %\n",
     "26: rule in [limit l]: unknown rule \"humidity above 65 %\"; allowed: QUANTITY above "
     "NUMBER, QUANTITY below NUMBER, QUANTITY range above NUMBER within 24 h, dew margin below "
     "NUMBER, CONTACT is on, CONTACT is off, silent"},
    {"[limit l]\nzone = z\nrule = humidity above 650\n",
     "26: rule in [limit l]: bad number \"650\"; allowed: a number, 0 to 100.5"},
    {"[limit l]\nzone = z\nrule = humid above 65\n",
     "26: rule in [limit l]: unknown quantity \"humid\"; allowed: temperature, humidity, "
     "surface_temperature, wood_moisture, dew_point, absolute_humidity, emc, mould_index, "
     "surface_humidity, dew_margin"},
    {"[limit l]\nzone = z\nrule = leak above 0\n",
     "26: rule in [limit l]: rule does not suit \"leak\"; allowed: temperature, humidity, "
     "surface_temperature, wood_moisture, dew_point, absolute_humidity, emc, mould_index, "
     "surface_humidity, dew_margin"},
    {"[limit l]\nzone = z\nrule = humidity is on\n",
     "26: rule in [limit l]: rule does not suit \"humidity\"; allowed: leak, mains, door, "
     "tank_full, plant_running"},
    {"[limit l]\nzone = z\nrule = leak is wet\n",
     "26: rule in [limit l]: bad state \"wet\"; allowed: on, off"},
    {"[limit l]\nzone = z\nrule = humidity range above 10 within 12 h\n",
     "26: rule in [limit l]: bad span \"12 h\"; allowed: 1 h, 24 h, 7 d"},
    {"[limit l]\nzone = z\nrule = humidity range above 0 within 24 h\n",
     "26: rule in [limit l]: bad number \"0\"; allowed: a number, 0.01 to 100.5"},
    {"[limit l]\nzone = z\nrule = leak is on\non_delay = 30\n",
     "27: \"30\" for on_delay in [limit l]; allowed: a time from 0 s to 168 h, as \"90 s\", "
     "\"30 "
     "min\", \"2 h\""},
    {"[limit l]\nzone = z\nrule = leak is on\noff_delay = 8 d\n",
     "27: \"8 d\" for off_delay in [limit l]; allowed: a time from 0 s to 168 h, as \"90 s\", "
     "\"30 min\", \"2 h\""},
    {"[limit l]\nzone = z\nrule = leak is on\non_delay = 1.5 h\n",
     "27: \"1.5 h\" for on_delay in [limit l]; allowed: a time from 0 s to 168 h, as \"90 s\", "
     "\"30 min\", \"2 h\""},
    {"[limit l]\nzone = z\nrule = leak is on\non_delay = 99999999999999999999 s\n",
     "27: \"99999999999999999999 s\" for on_delay in [limit l]; allowed: a time from 0 s to "
     "168 "
     "h, as \"90 s\", \"30 min\", \"2 h\""},
    {"[limit l]\nzone = z\nrule = leak is on\ndeadband = -1\n",
     "27: \"-1\" for deadband in [limit l]; allowed: a number, 0 to 100"},
    {"[limit l]\nzone = z\nrule = leak is on\npriority = urgent\n",
     "27: \"urgent\" for priority in [limit l]; allowed: digest, low, medium, high, highest"},
    {"[limit l]\nzone = z\nrule = leak is on\ntell = anna\n",
     "27: \"anna\" for tell in [limit l]; allowed: nobody, or NAMEs of sections "
     "[person NAME], [webhook NAME] and [command NAME], parted by commas: none"},
    {"[limit l]\noff = yes\n",
     "24: [limit l] switches off a default limit that there is not; allowed: z-damp, z-dew, "
     "z-damp-75, z-dry-30, z-dry-25, z-cold-surface, z-leak, z-mains, z-tank-full, air-silent, "
     "thermometer-silent"},
    {"[limit z-damp]\ninstrument = air\nrule = humidity above 70\n",
     "24: [limit z-damp] has the name of a default limit of zone z; allowed: zone = z, or "
     "another name"},
    {"[limit air-silent]\ninstrument = thermometer\nrule = silent\n",
     "24: [limit air-silent] has the name of a default limit of instrument air; allowed: "
     "instrument = air, or another name"},
};

static void each_mistake_in_a_limit_is_named(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct buf text = {0}, want = {0};
        wired("drying", wrong[i].more, &text);
        buf_printf(&want, "site.ini:%s\n", wrong[i].want);
        site_text_gives(text.data, want.data);
        buf_free(&want);
        buf_free(&text);
    }
}

static void a_mistake_in_the_wiring_brings_no_others_with_it(void **state)
{
    (void)state;
    site_text_gives(
        "[bus b]\nkind = modbus-tcp\naddress = h\n[zone z]\npurpose = drying\n"
        "[instrument i]\nbus = b\nzone = z\nread = humidty input 0 int16\n"
        "read = temperature input 1 int16\nuncertainty = humidity 2\n"
        "[limit a]\nzone = z\nrule = humidity above 60\n"
        "[limit z-damp]\noff = yes\n",
        "site.ini:9: read in [instrument i]: unknown quantity \"humidty\"; allowed: "
        "temperature, humidity, surface_temperature, wood_moisture, leak, mains, "
        "door, tank_full, plant_running\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_rule_gives_its_members_defaults_and_words),
        cmocka_unit_test(a_limit_takes_all_its_keys),
        cmocka_unit_test(whom_a_limit_tells_comes_from_it_the_studio_or_the_only_person),
        cmocka_unit_test(silence_is_longer_than_a_few_polls),
        cmocka_unit_test(every_purpose_has_its_limits_and_no_other),
        cmocka_unit_test(a_zone_has_no_default_for_what_nothing_reads),
        cmocka_unit_test(a_default_is_switched_off_or_replaced_by_its_name),
        cmocka_unit_test(names_of_defaults_cannot_meet),
        cmocka_unit_test(each_mistake_in_a_limit_is_named),
        cmocka_unit_test(a_mistake_in_the_wiring_brings_no_others_with_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
