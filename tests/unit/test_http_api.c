/* What the answers say, field by field, of a studio whose readings are known. */
#include "support/http_fixture.h"

#include "base/json.h"

static json_t *ask(const struct fixture *f, const char *path, int status)
{
    struct client_answer a = client_ask(f->port, "GET", path, "");
    if (a.status != status)
        print_error("%s: %d %s\n", path, a.status, a.body != NULL ? a.body : "");
    assert_int_equal(a.status, status);
    json_t *value = json_loads(a.body, 0, NULL);
    assert_non_null(value);
    client_answer_free(&a);
    return value;
}

/* Compares with JSON written with ' for ". */
static void is(json_t *value, const char *want_text)
{
    char text[2048];
    snprintf(text, sizeof text, "%s", want_text);
    for (char *c = text; *c != '\0'; c++)
        if (*c == '\'')
            *c = '"';
    json_t *want = json_loads(text, JSON_DECODE_ANY, NULL);
    assert_non_null(want);
    if (!json_equal(value, want)) {
        char *got = json_dumps(value, JSON_ENCODE_ANY);
        print_error("got  %s\nwant %s\n", got, text);
        free(got);
    }
    assert_true(json_equal(value, want));
    json_decref(want);
}

static void the_studio_says_who_it_is_and_whether_it_records(void **state)
{
    struct fixture *f = *state;
    fake_live_lock(f->live);
    f->live->status.messages_waiting = 3;
    f->live->status.messages_given_up = 1;
    fake_live_publish(f->live);
    json_t *s = ask(f, "/api/v1/studio", 200);
    is(json_object_get(s, "recording"),
       "{'state':'recording','detail':null,'last_commit':1795608000,'since':1795604400,"
       "'queue':0}");
    json_object_del(s, "recording");
    int64_t now_s = json_integer_value(json_object_get(s, "now"));
    assert_true(llabs(now_s - clock_utc_s(clock_now())) <= 5);
    json_object_del(s, "now");
    is(s, "{'name':'Harbour Lane \\'Studio\\'','timezone':'Europe/London','demo':false,"
          "'version':'0.1.0','altitude_m':40.0,'clock':'good','sensors':2,'signed_days':12,"
          "'last_signed_day':'2026-11-24','messages':{'waiting':3,'given_up':1},"
          "'key':'0123456789abcdef'}");
    json_decref(s);

    fake_live_lock(f->live);
    f->live->status.writing = false;
    f->live->status.write_error = RC_FULL;
    f->live->status.clock = LIVE_CLOCK_UNSYNCHRONISED;
    f->live->status.last_signed_day = -1;
    fake_live_publish(f->live);
    s = ask(f, "/api/v1/studio", 200);
    is(json_object_get(json_object_get(s, "recording"), "state"), "'cannot_write'");
    is(json_object_get(json_object_get(s, "recording"), "detail"), "'the disk is full'");
    is(json_object_get(s, "clock"), "'unsynchronised'");
    is(json_object_get(s, "last_signed_day"), "null");
    json_decref(s);
    s = ask(f, "/healthz", 503);
    is(s, "{'status':'degraded','detail':'the disk is full'}");
    json_decref(s);

    fake_live_lock(f->live);
    f->live->status.writing = true;
    f->live->status.clock = LIVE_CLOCK_GOOD;
    f->live->status.last_signed_day = 20781;
    fake_live_publish(f->live);
    s = ask(f, "/healthz", 200);
    is(s, "{'status':'ok','detail':null}");
    json_decref(s);
}

static void a_zone_shows_its_readings_limits_and_alarms(void **state)
{
    struct fixture *f = *state;
    json_t *z = ask(f, "/api/v1/zones/drying-room", 200);
    is(json_object_get(z, "now"),
       "{'t':1795608000,'temperature':{'value':20.5,'t':1795608000,'flags':[]},"
       "'humidity':{'value':58.2,'t':1795608000,'flags':[]},"
       "'dew_point':{'value':12.01,'t':1795608000,'flags':[]},"
       "'emc':{'value':10.65,'t':1795608000,'flags':[]},"
       "'mould_index':{'value':0.0,'t':1795608000,'flags':[]}}");
    is(json_object_get(z, "quantities"),
       "['temperature','humidity','dew_point','emc','mould_index']");
    is(json_object_get(z, "instruments"),
       "[{'name':'dr-1','serial':'41177','quantities':['temperature','humidity'],"
       "'every_s':30,'last':1795608000}]");
    is(json_object_get(z, "trend"), "{'humidity_per_hour':-0.8,'temperature_per_hour':null}");
    is(json_object_get(z, "limits"),
       "[{'name':'drying-room-damp','text':'humidity above 65 % for 30 min',"
       "'quantity':'humidity','rule':'above','value':65.0,'priority':'medium',"
       "'source':'set in the site file'}]");
    is(json_object_get(z, "alarms"), "[]");
    is(json_object_get(z, "quiet"), "null");
    is(json_object_get(z, "first"), "null");
    is(json_object_get(z, "damp_hours"), "null");
    is(json_object_get(z, "id"), "'drying-room'");
    is(json_object_get(z, "title"), "'Drying room'");
    is(json_object_get(z, "purpose"), "'drying'");
    is(json_object_get(z, "lead"), "'dr-1'");
    json_decref(z);

    json_t *all = ask(f, "/api/v1/zones", 200);
    json_t *zones = json_object_get(all, "zones");
    assert_int_equal(json_array_size(zones), 2);
    json_t *second = json_array_get(zones, 1);
    is(json_object_get(second, "id"), "'store-2'");
    is(json_object_get(json_array_get(json_object_get(second, "limits"), 0), "quantity"),
       "null");
    json_decref(all);
}

static void a_reading_too_old_is_absent_and_a_quiet_zone_says_why(void **state)
{
    struct fixture *f = *state;
    struct live_zone kept = f->live->zones[0];
    fake_live_lock(f->live);
    struct live_zone *z = &f->live->zones[0];
    z->now[QUANTITY_TEMPERATURE].fresh = false;
    z->now[QUANTITY_HUMIDITY].flags = READING_JUMP | READING_IN_CHECK;
    z->now[QUANTITY_DEW_POINT].known = false;
    z->quiet = GAP_NO_ANSWER;
    z->quiet_since_s = FIXTURE_NOW_S - 600;
    fake_live_publish(f->live);
    json_t *zone = ask(f, "/api/v1/zones/drying-room", 200);
    json_t *now = json_object_get(zone, "now");
    assert_null(json_object_get(now, "temperature"));
    assert_null(json_object_get(now, "dew_point"));
    is(json_object_get(json_object_get(now, "humidity"), "flags"), "['jump','in_check']");
    is(json_object_get(zone, "quiet"), "{'since':1795607400,'reason':'no_answer',"
                                       "'text':'the instrument did not answer'}");
    json_decref(zone);

    fake_live_lock(f->live);
    f->live->zones[0].last_s = 0;
    fake_live_publish(f->live);
    zone = ask(f, "/api/v1/zones/drying-room", 200);
    is(json_object_get(zone, "now"), "null");
    json_decref(zone);
    fake_live_lock(f->live);
    f->live->zones[0] = kept;
    fake_live_publish(f->live);
}

/* Limits of varnishing by common practice: 40-60 %, 18-24 degC, stop above 65 %. */
static void a_drying_room_says_what_its_air_is_fit_for(void **state)
{
    struct fixture *f = *state;
    json_t *zone = ask(f, "/api/v1/zones/drying-room", 200);
    json_t *list = json_object_get(zone, "fitness");
    assert_int_equal(json_array_size(list), 5);
    json_t *varnish = json_array_get(list, 0);
    assert_non_null(strstr(json_string_value(json_object_get(varnish, "caution")),
                           "the conservator decide"));
    assert_non_null(strstr(json_string_value(json_object_get(varnish, "caution")), "Solvent"));
    json_object_del(varnish, "caution");
    is(varnish, "{'work':'varnishing','now':'unknown','until_morning':'unknown',"
                "'reason':'now: the surface is not measured; until morning: too few of the "
                "last nights are known'}");
    json_decref(zone);

    struct live_zone kept = f->live->zones[0];
    fake_live_lock(f->live);
    f->live->zones[0].now[QUANTITY_HUMIDITY].value = 6600;
    fake_live_publish(f->live);
    zone = ask(f, "/api/v1/zones/drying-room", 200);
    varnish = json_array_get(json_object_get(zone, "fitness"), 0);
    is(json_object_get(varnish, "now"), "'unfit'");
    assert_non_null(strstr(json_string_value(json_object_get(varnish, "reason")),
                           "so damp that work in hand stops"));
    json_decref(zone);

    fake_live_lock(f->live);
    f->live->zones[0].now[QUANTITY_HUMIDITY].value = 5000;
    f->live->zones[0].now[QUANTITY_SURFACE_TEMPERATURE] =
        (struct live_value){.known = true, .fresh = true, .value = 2000, .t_s = FIXTURE_NOW_S};
    fake_live_publish(f->live);
    zone = ask(f, "/api/v1/zones/drying-room", 200);
    varnish = json_array_get(json_object_get(zone, "fitness"), 0);
    is(json_object_get(varnish, "now"), "'fit'");
    is(json_object_get(varnish, "until_morning"), "'unknown'");
    json_decref(zone);

    zone = ask(f, "/api/v1/zones/store-2", 200);
    is(json_object_get(zone, "fitness"), "null");
    json_decref(zone);
    fake_live_lock(f->live);
    f->live->zones[0] = kept;
    fake_live_publish(f->live);
}

static void instruments_say_whether_they_answer(void **state)
{
    struct fixture *f = *state;
    fake_live_lock(f->live);
    f->live->instruments[1].last_s = 0;
    f->live->instruments[1].quiet = GAP_EXCEPTION;
    f->live->instruments[1].detail = 2;
    fake_live_publish(f->live);
    json_t *all = ask(f, "/api/v1/instruments", 200);
    is(all, "{'instruments':[{'name':'dr-1','serial':'41177','bus':'bench-line','unit':3,"
            "'zone':'drying-room','every_s':30,'placement':'','quantities':['temperature',"
            "'humidity'],'state':'reading','last':1795608000,'reason':null,'text':null,"
            "'polls':120,'failures':3},{'name':'st-1','serial':'41178','bus':'bench-line',"
            "'unit':4,'zone':'store-2','every_s':60,'placement':'','quantities':['humidity'],"
            "'state':'never','last':null,'reason':'exception','text':'the instrument refused "
            "the request (Modbus exception 2)','polls':120,'failures':3}]}");
    json_decref(all);
}

static void alarms_are_told_in_words(void **state)
{
    struct fixture *f = *state;
    fake_live_lock(f->live);
    f->live->alarm_count = 2;
    f->live->alarms[0] = (struct live_alarm){.id = 9,
                                             .limit = &f->site->limits[0],
                                             .state = ALARM_UNACKNOWLEDGED,
                                             .since_s = FIXTURE_NOW_S,
                                             .value = 71,
                                             .worst = 74.2};
    f->live->alarms[1] = (struct live_alarm){.id = 4,
                                             .limit = &f->site->limits[1],
                                             .state = ALARM_ACKNOWLEDGED,
                                             .since_s = FIXTURE_NOW_S - 86400,
                                             .value = (double)NAN,
                                             .worst = (double)NAN};
    fake_live_publish(f->live);
    json_t *all = ask(f, "/api/v1/alarms", 200);
    json_t *list = json_object_get(all, "alarms");
    assert_int_equal(json_array_size(list), 2);
    json_t *first = json_array_get(list, 0);
    const char *text = json_string_value(json_object_get(first, "text"));
    assert_int_equal(strncmp(text, "Humidity above 65 % in the Drying room since ", 45), 0);
    assert_non_null(strstr(text, ", now 71 %"));
    json_object_del(first, "text");
    is(first, "{'id':9,'limit':'drying-room-damp','zone':'drying-room',"
              "'zone_title':'Drying room','instrument':null,'quantity':'humidity',"
              "'state':'unacknowledged','priority':'medium','since':1795608000,'until':null,"
              "'value':74.2,'threshold':65.0}");
    json_t *second = json_array_get(list, 1);
    is(json_object_get(second, "value"), "null");
    is(json_object_get(second, "threshold"), "null");
    is(json_object_get(second, "quantity"), "null");
    json_decref(all);

    all = ask(f, "/api/v1/alarms?zone=store-2", 200);
    list = json_object_get(all, "alarms");
    assert_int_equal(json_array_size(list), 1);
    is(json_object_get(json_array_get(list, 0), "id"), "4");
    json_decref(all);

    static const char *const refused[] = {
        "/api/v1/alarms?state=some", "/api/v1/alarms?zone=attic", "/api/v1/alarms?from=now",
        "/api/v1/alarms?from=10&to=10"};
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++)
        json_decref(ask(f, refused[i], 400));
    json_decref(ask(f, "/api/v1/alarms/77/history", 404));
    json_decref(ask(f, "/api/v1/alarms/x/history", 404));
    all = ask(f, "/api/v1/alarms?state=all", 200); /* the store here knows of none */
    is(all, "{'alarms':[]}");
    json_decref(all);
}

static void a_chart_gives_buckets_as_exact_decimals(void **state)
{
    struct fixture *f = *state;
    fake_live_lock(f->live);
    f->live->reading_count = 4;
    f->live->reading_from_s = FIXTURE_NOW_S;
    f->live->reading_every_s = 30;
    fake_live_publish(f->live);
    /* The fake's readings in the first zone are 5001, 6920, 6839, 6758 hundredths. */
    json_t *s = ask(f,
                    "/api/v1/zones/drying-room/series?quantity=humidity&from=1795608000"
                    "&to=2026-11-25T12:02:00Z&points=2",
                    200);
    is(s, "{'zone':'drying-room','quantity':'humidity','unit':'%','from':1795608000,"
          "'to':1795608120,'step':60,'t':[1795608000,1795608060],'min':[50.01,67.58],"
          "'mean':[59.61,67.99],'max':[69.2,68.39],'gaps':[]}");
    json_decref(s);
    s = ask(f,
            "/api/v1/zones/drying-room/series?quantity=humidity&from=1795608000"
            "&to=1795608120&points=100",
            200);
    is(json_object_get(s, "step"), "0");
    is(json_object_get(s, "mean"), "[50.01,69.2,68.39,67.58]");
    is(json_object_get(s, "t"), "[1795608000,1795608030,1795608060,1795608090]");
    json_decref(s);
    /* An empty span is no mistake. */
    s = ask(f, "/api/v1/zones/drying-room/series?quantity=humidity&from=0&to=1000", 200);
    is(json_object_get(s, "t"), "[]");
    json_decref(s);
}

static void a_chart_that_cannot_be_says_why(void **state)
{
    struct fixture *f = *state;
    static const struct {
        const char *query;
        int status;
        const char *says;
    } rows[] = {
        {"", 400, "quantity must be one of temperature, humidity"},
        {"?quantity=warmth", 400, "not 'warmth'"},
        {"?quantity=leak", 404, "has no leak"},
        {"?quantity=humidity&points=1", 400, "from 2 to 4000"},
        {"?quantity=humidity&points=4001", 400, "from 2 to 4000"},
        {"?quantity=humidity&from=soon", 400, "not 'soon'"},
        {"?quantity=humidity&to=soon", 400, "not 'soon'"},
        {"?quantity=humidity&from=20&to=10", 400, "from must lie before to"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char path[160];
        snprintf(path, sizeof path, "/api/v1/zones/drying-room/series%s", rows[i].query);
        json_t *problem = ask(f, path, rows[i].status);
        const char *detail = json_string_value(json_object_get(problem, "detail"));
        if (strstr(detail, rows[i].says) == NULL)
            print_error("%s\n", detail);
        assert_non_null(strstr(detail, rows[i].says));
        json_decref(problem);
    }
    json_decref(ask(f, "/api/v1/zones/attic/series?quantity=humidity", 404));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_studio_says_who_it_is_and_whether_it_records),
        cmocka_unit_test(a_zone_shows_its_readings_limits_and_alarms),
        cmocka_unit_test(a_reading_too_old_is_absent_and_a_quiet_zone_says_why),
        cmocka_unit_test(a_drying_room_says_what_its_air_is_fit_for),
        cmocka_unit_test(instruments_say_whether_they_answer),
        cmocka_unit_test(alarms_are_told_in_words),
        cmocka_unit_test(a_chart_gives_buckets_as_exact_decimals),
        cmocka_unit_test(a_chart_that_cannot_be_says_why),
    };
    return cmocka_run_group_tests(tests, fixture_setup, fixture_teardown);
}
