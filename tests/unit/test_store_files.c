/* test_store_files.c - the files of a store are the studio's own: names of clients and works are
 * nothing for other users of the machine. */
#include "support/studio.h"

#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "store/backup.h"

static const char site_text[] =
    "[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
    "[store]\npath = %s\n[bus b]\nkind = modbus-tcp\naddress = 127.0.0.1:5020\n"
    "[instrument i1]\nbus = b\nunit = 1\nserial = 1\nevery = 60 s\nzone = room\n"
    "read = humidity input 1 uint16 x0.1\n[zone room]\npurpose = drying\n";

static void nothing_for_others(const struct studio *s, const char *ending)
{
    char path[128];
    struct stat st;
    snprintf(path, sizeof path, "%s%s", s->db, ending);
    assert_int_equal(stat(path, &st), 0);
    if ((st.st_mode & 07) != 0)
        print_error("%s: %o\n", path, (unsigned)st.st_mode & 0777);
    assert_int_equal(st.st_mode & 07, 0);
}

static void others_may_read_neither_the_database_nor_a_copy(void **state)
{
    (void)state;
    static const char *const files[] = {"", "-wal", "-shm", ".lock", ".key", ".copy"};
    struct studio s;
    char copy[128];
    mode_t before = umask(022);
    studio_make(&s, site_text, 1767225600);
    studio_start(&s);
    studio_put(&s, 0, 0, 1767225600, 50);
    studio_until(&s, 1767225660);
    snprintf(copy, sizeof copy, "%s.copy", s.db);
    assert_int_equal(backup_write(s.db, copy), RC_OK);
    for (size_t i = 0; i < sizeof files / sizeof *files; i++)
        nothing_for_others(&s, files[i]);
    umask(before);
    studio_remove(&s);
}

static void a_copy_never_takes_the_place_of_a_file_that_is_there(void **state)
{
    (void)state;
    struct studio s;
    char copy[128], line[16] = "";
    studio_make(&s, site_text, 1767225600);
    studio_start(&s);
    snprintf(copy, sizeof copy, "%s.copy", s.db);
    FILE *f = fopen(copy, "w");
    assert_non_null(f);
    fputs("mine", f);
    fclose(f);
    assert_int_equal(backup_write(s.db, copy), RC_CONFLICT);
    f = fopen(copy, "r");
    assert_non_null(f);
    assert_non_null(fgets(line, sizeof line, f));
    fclose(f);
    assert_string_equal(line, "mine");
    studio_remove(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(others_may_read_neither_the_database_nor_a_copy),
        cmocka_unit_test(a_copy_never_takes_the_place_of_a_file_that_is_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
