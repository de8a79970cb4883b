/* test_site_page.c - the manual page of the site file says what the parser takes, no more and no
 * less, and its example is one. */
#include "support/site_text.h"

#include <stdlib.h>

#include "site/defaults.h"
#include "site/keys.h"

/* The page, found from this source file's own place. */
static void read_page(struct buf *out)
{
    static const char here[] = __FILE__, page[] = "contrib/man/stillroom-site.5";
    const char *tests = strstr(here, "tests/unit/test_site_page.c");
    assert_non_null(tests);
    struct buf path = {0};
    buf_add(&path, here, (size_t)(tests - here));
    buf_str(&path, page);
    FILE *f = fopen(path.data, "rb");
    if (f == NULL)
        print_error("cannot open %s\n", path.data);
    assert_non_null(f);
    char chunk[4096];
    for (size_t n; (n = fread(chunk, 1, sizeof chunk, f)) > 0;)
        buf_add(out, chunk, n);
    assert_int_equal(fclose(f), 0);
    buf_free(&path);
}

/* What the page's section headings and key items name, in the form of the list below. */
static void named_by_page(const char *page, struct buf *out)
{
    bool inside = false;
    for (const char *line = page; *line != '\0'; line = strchr(line, '\n') + 1) {
        int len = (int)strcspn(line, "\n");
        if (strncmp(line, ".Sh ", 4) == 0)
            inside = false;
        if (strncmp(line, ".Ss [", 5) == 0) {
            buf_printf(out, "%.*s\n", len - 4, line + 4);
            inside = true;
        } else if (inside && strncmp(line, ".It Ic ", 7) == 0) {
            buf_printf(out, "  %.*s\n", len - 7, line + 7);
        }
    }
}

static void the_page_names_each_section_and_key_of_the_parser(void **state)
{
    (void)state;
    struct buf page = {0}, got = {0}, want = {0};
    read_page(&page);
    named_by_page(page.data, &got);
    for (int i = 0; i < SECTION_COUNT; i++) {
        const struct keys *k = keys_of((enum section)i);
        buf_printf(&want, "[%s%s]\n", k->section, k->named ? " NAME" : "");
        for (const char *const *key = k->keys; *key != NULL; key++)
            buf_printf(&want, "  %s\n", *key);
    }
    assert_string_equal(got.data, want.data);
    buf_free(&page);
    buf_free(&got);
    buf_free(&want);
}

/* That the page has a word by itself, in a `.Li` or inside one. */
static void page_has_word(const char *page, const char *word)
{
    size_t len = strlen(word);
    for (const char *at = strstr(page, word); at != NULL; at = strstr(at + 1, word)) {
        char before = at == page ? ' ' : at[-1], after = at[len];
        if (strchr(" \n", before) != NULL && strchr(" ,;:\n", after) != NULL)
            return;
    }
    fail_msg("the page does not name \"%s\"", word);
}

static void the_page_names_each_word_that_is_allowed(void **state)
{
    (void)state;
    static const char *const words[] = {
        "coil",   "discrete", "input",   "holding",    "bit",        "int16", "uint16",
        "int32",  "uint32",   "float32", "float64",    "abcd",       "cdab",  "badc",
        "dcba",   "invert",   "none",    "modbus-rtu", "modbus-tcp", "even",  "odd",
        "silent", "trusted",  "checked", "nobody",     "yes",        "no"};
    struct buf page = {0};
    read_page(&page);
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        page_has_word(page.data, words[i]);
    for (int p = PURPOSE_DRYING; p <= PURPOSE_OTHER; p++)
        page_has_word(page.data, site_purpose_word((enum site_purpose)p));
    for (int p = PRIORITY_DIGEST; p <= PRIORITY_HIGHEST; p++)
        page_has_word(page.data, site_priority_word((enum site_priority)p));
    for (int q = 0; q < QUANTITY_COUNT; q++)
        page_has_word(page.data, quantity_info((enum quantity)q)->name);
    buf_free(&page);
}

/* The item of the page's list of defaults that tells of a row. */
static const char *group(unsigned purposes)
{
    if (purposes == 0)
        return "each instrument";
    if ((purposes & (purposes - 1)) != 0)
        return (purposes >> PURPOSE_OUTDOOR & 1U) != 0 ? "all" : "all but chamber and outdoor";
    for (int p = PURPOSE_DRYING; p <= PURPOSE_OTHER; p++)
        if (purposes >> p == 1U)
            return site_purpose_word((enum site_purpose)p);
    return "";
}

static void duration(int s, struct buf *out)
{
    if (s >= 3600)
        buf_printf(out, "%d h", s / 3600);
    else if (s >= 60)
        buf_printf(out, "%d min", s / 60);
    else
        buf_printf(out, "%d s", s);
}

static void the_page_lists_the_default_limits_and_no_others(void **state)
{
    (void)state;
    struct buf page = {0}, want = {0};
    read_page(&page);
    size_t n = 0;
    const struct defaults_row *rows = defaults_rows(&n);
    for (size_t i = 0; i < n; i++) {
        const char *name = group(rows[i].purposes);
        bool first = i == 0 || strcmp(group(rows[i - 1].purposes), name) != 0;
        bool last = i + 1 == n || strcmp(group(rows[i + 1].purposes), name) != 0;
        if (first)
            buf_printf(&want, ".It %s\n", name);
        buf_printf(&want, ".Li -%s\n%s, ", rows[i].what, rows[i].rule);
        duration(rows[i].on_delay_s, &want);
        buf_printf(&want, ", %s%s\n", site_priority_word(rows[i].priority), last ? "" : ";");
    }
    buf_str(&want, ".El\n");
    const char *from = strstr(page.data, ".Sh DEFAULT LIMITS");
    assert_non_null(from);
    from = strstr(from, ".It ");
    assert_non_null(from);
    const char *to = strstr(from, ".Sh ");
    assert_non_null(to);
    struct buf got = {0};
    buf_add(&got, from, (size_t)(to - from));
    assert_string_equal(got.data, want.data);
    buf_free(&got);
    buf_free(&want);
    buf_free(&page);
}

static void the_pages_example_is_a_sound_site_file(void **state)
{
    (void)state;
    struct buf page = {0};
    read_page(&page);
    const char *from = strstr(page.data, ".Bd -literal\n");
    assert_non_null(from);
    from += strlen(".Bd -literal\n");
    const char *to = strstr(from, ".Ed\n");
    assert_non_null(to);
    struct site *s = site_text_sound(from, (size_t)(to - from));
    assert_int_equal(s->instrument_count, 1);
    assert_int_equal(s->instruments[0].read_count, 2);
    assert_string_equal(s->limits[0].name, "drying-room-damp");
    site_free(s);
    buf_free(&page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_names_each_section_and_key_of_the_parser),
        cmocka_unit_test(the_page_names_each_word_that_is_allowed),
        cmocka_unit_test(the_page_lists_the_default_limits_and_no_others),
        cmocka_unit_test(the_pages_example_is_a_sound_site_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
