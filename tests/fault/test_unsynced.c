/* test_unsynced.c - the power goes, the disk or the memory fails, at any operation: what was
 * committed is there, and what comes in the end is what an undisturbed run recorded. */
#include "support/powercut.h"
#include "support/studio.h"

#include <sqlite3.h>
#include <stdlib.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n"
    "[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 10 min\nzone = room\n"
    "read = temperature input 0 int16 x0.1\nread = humidity input 1 uint16 x0.1\n"
    "[instrument i2]\nbus = b\nunit = 2\nserial = 2\nevery = 10 min\nzone = room\n"
    "read = surface_temperature input 0 int16 x0.1\nread = tank_full discrete 0 bit\n"
    "[zone room]\ntitle = Room\npurpose = drying\nlead = i1\n"
    "[limit damp]\nzone = room\nrule = humidity above 65\non_delay = 30 min\ndeadband = 3\n"
    "[limit tank]\nzone = room\nrule = tank_full is on\non_delay = 5 min\n";

enum {
    EVERY_S = 600,
    CHANNELS = 4,
    SLOTS = 72 + 144 + 12, /* from noon: two days are closed */
    BROKEN_SLOTS = 20,     /* how long a fault that lasts does last */
    CLOSING_STRIDE = 13,
};
static const int64_t start_s = 1767225600 + 12 * 3600; /* 2026-01-01T12:00:00Z */

/* THOROUGH in the environment: how many times more is tried. */
static int thorough(void)
{
    const char *more = getenv("THOROUGH");
    int times = more == NULL ? 1 : atoi(more);
    return times < 1 ? 1 : times;
}

static int64_t slot_s(int64_t slot)
{
    return start_s + EVERY_S * slot;
}

static void step_at(struct studio *s, int64_t utc_ms)
{
    s->now.mono_ms += utc_ms - s->now.utc_ms;
    s->now.utc_ms = utc_ms;
    recorder_step(s->recorder, s->now);
}

static void put_slot(struct studio *s, int64_t slot)
{
    int64_t t_s = slot_s(slot);
    step_at(s, t_s * 1000);
    studio_put(s, 0, 0, t_s, 15 + (double)(slot * 31 % 200) / 100);
    studio_put(s, 0, 1, t_s, 58 + 14 * (double)(slot % 144) / 144);
    studio_put(s, 1, 0, t_s, 9 + (double)(slot * 17 % 100) / 100);
    studio_put(s, 1, 1, t_s, t_s / 3600 % 24 == 3);
    step_at(s, t_s * 1000 + 500);
    step_at(s, t_s * 1000 + 45000);
    step_at(s, t_s * 1000 + 120000);
}

static enum rc open_at(struct studio *s, int64_t utc_s)
{
    struct recorder_cfg cfg = {.site = s->site};
    s->now.mono_ms += utc_s * 1000 - s->now.utc_ms;
    s->now.utc_ms = utc_s * 1000;
    return recorder_open(&cfg, s->now, &s->recorder);
}

static uint64_t committed(struct studio *s)
{
    struct live_status status;
    live_status(recorder_live(s->recorder), &status);
    return status.readings;
}

/* An undisturbed run, and between which operations its first day was closed. */
struct reference {
    struct studio studio;
    int64_t operations, closing_from, closing_to;
};

static void make_reference(struct reference *ref)
{
    struct live_status status;
    powercut_forget();
    powercut_arm(POWERCUT_NOTHING, 0, false);
    studio_make(&ref->studio, site_text, start_s);
    assert_int_equal(open_at(&ref->studio, start_s), RC_OK);
    ref->closing_from = ref->closing_to = 0;
    for (int64_t slot = 0; slot < SLOTS; slot++) {
        int64_t before = powercut_count();
        put_slot(&ref->studio, slot);
        live_status(recorder_live(ref->studio.recorder), &status);
        if (status.signed_days == 1 && ref->closing_to == 0) {
            ref->closing_from = before;
            ref->closing_to = powercut_count();
        }
    }
    studio_stop(&ref->studio);
    ref->operations = powercut_count();
    assert_true(ref->closing_to > ref->closing_from + 20);
    assert_int_equal(studio_int(&ref->studio, "SELECT count(*) FROM signed_day"), 2);
}

/* What lies in the store, in readings. */
static int64_t landed(const struct studio *s)
{
    return studio_int(s,
                      "SELECT (SELECT count(*) FROM tail WHERE t >= 86400 * (SELECT value"
                      " FROM meta WHERE key = 'open_day')) + (SELECT coalesce(sum(n), 0) FROM"
                      " day WHERE day < (SELECT value FROM meta WHERE key = 'open_day'))");
}

static void assert_sound(const struct studio *s)
{
    char words[64];
    studio_text(s, "PRAGMA integrity_check", words, sizeof words);
    assert_string_equal(words, "ok");
    /* Numbers without a hole, each day once, each naming the one before it. */
    assert_int_equal(
        studio_int(s, "SELECT count(*) FROM signed_day a LEFT JOIN signed_day b ON b.number ="
                      " a.number - 1 WHERE instr(a.text, 'previous ' || CASE WHEN b.number IS"
                      " NULL THEN 'none' ELSE lower(hex(b.digest)) END || char(10)) = 0"
                      " OR (b.number IS NULL AND a.number <> 1) OR b.day <> a.day - 1"
                      " OR instr(a.text, 'note ') > 0"),
        0);
    assert_int_equal(studio_int(s, "SELECT count(*) FROM signed_day WHERE manifest NOT IN"
                                   " (SELECT digest FROM text)"),
                     0);
    assert_int_equal(studio_int(s, "SELECT count(*) FROM late"), 0);
}

/* One run whose power is cut at an operation; returns false if it ended before. */
static bool cut_once(const struct reference *ref, int64_t at, uint64_t seed)
{
    struct studio s;
    uint64_t sure = 0;
    int64_t put = 0;
    studio_make(&s, site_text, start_s);
    powercut_forget();
    powercut_arm(POWERCUT_POWER, at, true);
    bool opened = open_at(&s, start_s) == RC_OK;
    for (; opened && put < SLOTS && !powercut_struck(); put++)
        put_slot(&s, put);
    if (opened) {
        sure = committed(&s);
        studio_stop(&s);
    }
    bool struck = powercut_struck();
    powercut_leave(seed);

    /* The machine starts again. */
    assert_int_equal(open_at(&s, slot_s(put)), RC_OK);
    int64_t have = landed(&s);
    if ((uint64_t)have < sure)
        print_error("cut at %lld, seed %llu: %lld of %llu\n", (long long)at,
                    (unsigned long long)seed, (long long)have, (unsigned long long)sure);
    assert_true((uint64_t)have >= sure && have <= put * CHANNELS && have % CHANNELS == 0);
    assert_sound(&s);
    /* The rest is recorded as if no time had passed, so that all can be compared. */
    recorder_close(s.recorder, s.now);
    s.recorder = NULL;
    assert_int_equal(open_at(&s, slot_s(have / CHANNELS)), RC_OK);
    for (int64_t slot = have / CHANNELS; slot < SLOTS; slot++)
        put_slot(&s, slot);
    studio_stop(&s);
    assert_sound(&s);
    assert_true(studio_same(&ref->studio, &s));
    studio_remove(&s);
    return struck;
}

static void what_was_committed_survives_a_power_cut_at_any_moment(void **state)
{
    (void)state;
    struct reference ref;
    make_reference(&ref);
    int cuts = 80 * thorough(), struck = 0;
    uint64_t seed = 88172645463325252U;
    for (int i = 0; i < cuts; i++) {
        seed = seed * 6364136223846793005U + 1442695040888963407U;
        int64_t from = i % 2 == 0 ? ref.closing_from : 0;
        int64_t to = i % 2 == 0 ? ref.closing_to : ref.operations;
        struck += cut_once(&ref, from + (int64_t)(seed >> 33) % (to - from), seed);
    }
    assert_int_equal(struck, cuts);
    studio_remove(&ref.studio);
}

/* -- faults that the daemon lives through -- */

/* A memory that fails under SQLite, beside the disk. */
static struct {
    sqlite3_mem_methods real;
    int64_t count, at;
    bool for_ever, struck;
} memory = {.at = -1};

static bool memory_fails(void)
{
    if (memory.at < 0)
        return false;
    int64_t number = memory.count++;
    bool fails = number == memory.at || (number > memory.at && memory.for_ever);
    memory.struck = memory.struck || fails;
    return fails;
}

static void *on_malloc(int size)
{
    return memory_fails() ? NULL : memory.real.xMalloc(size);
}

static void *on_realloc(void *old, int size)
{
    return memory_fails() ? NULL : memory.real.xRealloc(old, size);
}

enum kind {
    DISK_FULL,
    DISK_FAULT,
    NO_MEMORY
};

static void break_at(enum kind kind, int64_t at, bool for_ever)
{
    memory.at = -1;
    memory.count = 0;
    memory.struck = false;
    memory.for_ever = for_ever;
    powercut_arm(POWERCUT_NOTHING, 0, false);
    if (kind == NO_MEMORY)
        memory.at = at;
    else
        powercut_arm(kind == DISK_FULL ? POWERCUT_FULL : POWERCUT_IO, at, for_ever);
}

static bool struck(void)
{
    return memory.struck || powercut_struck();
}

static void mend(void)
{
    memory.at = -1;
    powercut_mend();
}

/* One run through a fault, which ends some slots after it struck. */
static bool fault_once(const struct reference *ref, enum kind kind, int64_t at, bool for_ever)
{
    struct studio s;
    int64_t mend_slot = -1;
    studio_make(&s, site_text, start_s);
    powercut_forget();
    break_at(kind, at, for_ever);
    if (open_at(&s, start_s) != RC_OK) {
        assert_true(struck());
        mend();
        assert_int_equal(open_at(&s, start_s), RC_OK);
    }
    for (int64_t slot = 0; slot < SLOTS; slot++) {
        put_slot(&s, slot);
        if (struck() && mend_slot < 0)
            mend_slot = slot + (for_ever ? BROKEN_SLOTS : 0);
        if (mend_slot >= 0 && slot >= mend_slot)
            mend();
    }
    bool had_struck = struck();
    /* The last of it may wait for the next try. */
    mend();
    step_at(&s, s.now.utc_ms + 120000);
    studio_stop(&s);
    assert_sound(&s);
    assert_true(studio_same(&ref->studio, &s));
    assert_int_equal(studio_int(&s, "SELECT count(*) FROM gap"), 0);
    studio_remove(&s);
    return had_struck;
}

static void faults(enum kind kind, int64_t stride)
{
    struct reference ref;
    make_reference(&ref);
    static const char *const names[] = {"full", "fault", "memory"};
    for (int for_ever = 0; for_ever < 2; for_ever++) {
        int64_t at = 0, runs = 0;
        for (bool hit = true; hit; runs++) {
            hit = fault_once(&ref, kind, at, for_ever != 0);
            bool closing = kind != NO_MEMORY && at >= ref.closing_from && at < ref.closing_to;
            int64_t step = (closing ? CLOSING_STRIDE : stride) / thorough();
            at += step < 1 ? 1 : step;
        }
        print_message("%s, %s: %lld runs\n", names[kind], for_ever ? "for some hours" : "once",
                      (long long)runs);
        assert_true(runs > 20);
    }
    studio_remove(&ref.studio);
}

static void a_full_disk_loses_nothing_that_was_drained(void **state)
{
    (void)state;
    faults(DISK_FULL, 101);
}

static void a_faulty_disk_loses_nothing_that_was_drained(void **state)
{
    (void)state;
    faults(DISK_FAULT, 103);
}

static void a_memory_that_fails_under_the_database_loses_nothing_that_was_drained(void **state)
{
    (void)state;
    faults(NO_MEMORY, 509);
}

static int break_memory(void **state)
{
    (void)state;
    sqlite3_mem_methods methods;
    if (sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory.real) != SQLITE_OK)
        return -1;
    methods = memory.real;
    methods.xMalloc = on_malloc;
    methods.xRealloc = on_realloc;
    if (sqlite3_config(SQLITE_CONFIG_MALLOC, &methods) != SQLITE_OK)
        return -1;
    powercut_install();
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_committed_survives_a_power_cut_at_any_moment),
        cmocka_unit_test(a_full_disk_loses_nothing_that_was_drained),
        cmocka_unit_test(a_faulty_disk_loses_nothing_that_was_drained),
        cmocka_unit_test(a_memory_that_fails_under_the_database_loses_nothing_that_was_drained),
    };
    return cmocka_run_group_tests(tests, break_memory, NULL);
}
