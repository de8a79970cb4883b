/* test_site_memory.c - memory runs out at each allocation in turn while a site file is read: a
 * clean code, nothing given out, nothing leaked. Linked with --wrap for these four. */
#include "support/near.h"

#include <stdlib.h>
#include <string.h>

#include "site/site.h"
#include "support/nomem.h"

static bool for_ever; /* an allocation that failed is followed by none that does not */

static const char wiring[] =
    "[studio]\nname = A\nworking_hours = Mo-Fr 8:00-18:00\ntell = p\n"
    "[http]\nlisten = [::1]:80\nnames = a.example, b\n[person p]\nmail = p@studio.example\n"
    "[mail]\nserver = m:587\nfrom = s@studio.example\nuser = u\npassword_file = /p\n"
    "[webhook w]\nurl = https://h/p\n[command c]\npath = /bin/c\narguments = a b\n"
    "[bus b]\nkind = modbus-tcp\naddress = h:1502\n"
    "[map m]\nread = temperature input 0 int16 x0.1 none 0x8000, 1\n"
    "read = humidity input 1 uint16\nuncertainty = temperature 0.3, humidity 2\n"
    "[zone z]\npurpose = store\n[zone y]\npurpose = drying\n"
    "[instrument i]\nbus = b\nzone = z\nmap = m\nread = leak coil 0 bit\n"
    "[instrument j]\nbus = b\nzone = y\nmap = m\n"
    "[limit z-damp]\noff = yes\n[limit l]\nzone = y\nrule = humidity range above 5 within 1 "
    "h\n";

/* More strings than one block of memory holds. */
static void sound_text(struct buf *out)
{
    buf_str(out, wiring);
    for (int i = 0; i < 60; i++)
        buf_printf(out, "[zone z-%d]\ntitle = The room with the number %d of them all\n", i, i);
}

static const char wrong[] = "[studio]\naltitude_m = x\n[heater]\n[zone A]\n[bus b]\nkind = x\n"
                            "[limit none]\noff = yes\n[limit l]\nrule = x above 3\nzone = z\n"
                            "[zone z]\nboud = 1\npassword = 2\n?\n[http]\nlisten = x\n";

/* Fails the n-th allocation for n = 0, 1, ... until a run meets no fault; returns how many. */
static long fail_each(const char *text, size_t len, enum rc without_fault)
{
    for (long n = 0;; n++) {
        struct buf mistakes = {0};
        struct site *site = NULL;
        long before = nomem_held();
        nomem_after(n, for_ever);
        enum rc rc = site_parse("site.ini", text, len, &mistakes, &site);
        bool met = nomem_end();
        assert_true(rc == without_fault || (met && rc == RC_NOMEM));
        assert_true((site != NULL) == (rc == RC_OK));
        site_free(site);
        buf_free(&mistakes);
        assert_int_equal(nomem_held(), before);
        if (!met)
            return n;
        /* A sound file is never given out with something missing. */
        assert_int_not_equal(rc, RC_OK);
    }
}

static void a_sound_file_is_given_whole_or_not_at_all(void **state)
{
    (void)state;
    struct buf text = {0};
    sound_text(&text);
    for_ever = false;
    assert_true(fail_each(text.data, text.len, RC_OK) > 5);
    for_ever = true;
    assert_true(fail_each(text.data, text.len, RC_OK) > 5);
    buf_free(&text);
}

static void a_wrong_file_is_never_taken_for_a_sound_one(void **state)
{
    (void)state;
    for_ever = false;
    assert_true(fail_each(wrong, sizeof wrong - 1, RC_BAD_INPUT) > 20);
    for_ever = true;
    assert_true(fail_each(wrong, sizeof wrong - 1, RC_BAD_INPUT) > 20);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sound_file_is_given_whole_or_not_at_all),
        cmocka_unit_test(a_wrong_file_is_never_taken_for_a_sound_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
