/* test_site_lines.c - the site file as bytes: what editors and bad disks make of it. */
#include "support/site_text.h"

#include <stdlib.h>

#define TEXT(literal) literal, sizeof literal - 1

static const struct {
    const char *text;
    size_t len;
} same[] = {
    {TEXT("[studio]\nname = Lane 3\n[zone a]\ntitle = A b\n")},
    {TEXT("[studio]\r\nname = Lane 3\r\n[zone a]\r\ntitle = A b\r\n")},
    {TEXT("\xEF\xBB\xBF[studio]\nname = Lane 3\n[zone a]\ntitle = A b\n")},
    {TEXT("[studio]\nname = Lane 3\n[zone a]\ntitle = A b")},
    {TEXT("\n\n  [ studio ]  \n\tname=Lane 3\t \n [zone   a]\n   title\t=\tA b   \n\n")},
    {TEXT("; c\n# c\n[studio] ; c\nname = Lane 3 ; c\n  # c\n[zone a] # c\ntitle: A b\n")},
    /* An indented line begins a pair of its own, as anywhere. */
    {TEXT("[studio]\n    name = Lane 3\n[zone a]\n    title = A b\n")},
};

static void line_ends_marks_blanks_and_comments_change_nothing(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        struct site *s = site_text_sound(same[i].text, same[i].len);
        assert_string_equal(s->studio, "Lane 3");
        assert_int_equal(s->zone_count, 1);
        assert_string_equal(s->zones[0].name, "a");
        assert_string_equal(s->zones[0].title, "A b");
        site_free(s);
    }
}

static const struct {
    const char *text;
    size_t len;
} empty[] = {
    {TEXT("")},
    {TEXT("\n")},
    {TEXT("\r\n\r\n")},
    {TEXT("\xEF\xBB\xBF")},
    {TEXT("# nothing yet\n;\n")},
    {TEXT("   \t\n")},
    {TEXT("[studio]")},
};

static void a_file_without_sections_is_a_site_without_zones(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof empty / sizeof empty[0]; i++) {
        struct site *s = site_text_sound(empty[i].text, empty[i].len);
        assert_int_equal(s->zone_count, 0);
        assert_string_equal(s->studio, "Studio");
        assert_int_equal(s->text.len, empty[i].len);
        site_free(s);
    }
}

static void words_of_all_languages_are_kept_byte_for_byte(void **state)
{
    (void)state;
    static const char text[] = "[studio]\nname = Ätelier d'Été, 修復室 🎨\n"
                               "[zone a]\ntitle = A; b # c = [d]\n";
    struct site *s = site_text_sound(text, sizeof text - 1);
    assert_string_equal(s->studio, "Ätelier d'Été, 修復室 🎨");
    assert_string_equal(s->zones[0].title, "A; b # c = [d]");
    site_free(s);
}

#define NEITHER                                                                                \
    "neither a heading, a comment nor a pair; allowed: [section], # comment, key = value\n"

static const struct {
    const char *text;
    size_t len;
    const char *want;
} broken[] = {
    {TEXT("[studio]\nname\n"), "site.ini:2: " NEITHER},
    {TEXT("[studio]\n\nname"), "site.ini:3: " NEITHER},
    {TEXT("[studio]\nname = A\n  and more of it\n"), "site.ini:3: " NEITHER},
    {TEXT("[studio]\nname ; = A\n"), "site.ini:2: " NEITHER},
    {TEXT("[studio\nname = A\n"),
     "site.ini:1: section heading without its \"]\"; allowed: [section] or [section NAME]\n"
     "site.ini:2: key \"name\" before any section; allowed: a heading first, [studio] say\n"},
    {TEXT("[studio] name = A\n"),
     "site.ini:1: \"name = A\" behind a section heading; allowed: a comment\n"},
    {TEXT("[studio]\r\nname = A\0B\r\n"),
     "site.ini:2: control character 0x00 at position 9; allowed: printable text and tabs\n"},
    {TEXT("\0\n\0\n"),
     "site.ini:1: control character 0x00 at position 1; allowed: printable text and tabs\n"
     "site.ini:2: control character 0x00 at position 1; allowed: printable text and tabs\n"},
    {TEXT("# in a comment \x07\n"),
     "site.ini:1: control character 0x07 at position 16; allowed: printable text and tabs\n"},
    {TEXT("[studio]\rname = A\r"), /* line ends of the 1990s */
     "site.ini:1: control character 0x0D at position 9; allowed: printable text and tabs\n"},
    {TEXT("[studio]\nname = Atelier \xC9t\xE9\n"), /* Latin-1 */
     "site.ini:2: byte 0xC9 at position 16 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\nname = \xC0\xAF\n"), /* overlong, RFC 3629 section 10 */
     "site.ini:2: byte 0xC0 at position 8 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\nname = \xE0\x80\xAF\n"),
     "site.ini:2: byte 0xE0 at position 8 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\nname = \xED\xA0\x80\n"), /* a surrogate */
     "site.ini:2: byte 0xED at position 8 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\nname = \xF4\x90\x80\x80\n"), /* above U+10FFFF */
     "site.ini:2: byte 0xF4 at position 8 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\nname = A\xE4\xBF"), /* cut off at the end of the file */
     "site.ini:2: byte 0xE4 at position 9 is not UTF-8; allowed: text in UTF-8\n"},
    {TEXT("[studio]\n\xEF\xBB\xBFname = A\n"),
     "site.ini:2: unknown key \"\xEF\xBB\xBFname\" in [studio]; allowed: name, timezone, "
     "altitude_m, working_hours, demo, clock, defaults, tell\n"},
    {TEXT("[studio]\n= A\n"),
     "site.ini:2: unknown key \"\" in [studio]; allowed: name, timezone, "
     "altitude_m, working_hours, demo, clock, defaults, tell\n"},
};

static void broken_lines_are_told_with_their_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof broken / sizeof broken[0]; i++) {
        struct buf mistakes = {0};
        site_text_wrong(broken[i].text, broken[i].len, &mistakes);
        assert_string_equal(mistakes.data, broken[i].want);
        buf_free(&mistakes);
    }
}

/* "name = " and then x up to a line of `len` bytes, and a sound line below it. */
static void long_line(size_t len, struct buf *out)
{
    buf_str(out, "[studio]\nname = ");
    for (size_t i = strlen("name = "); i < len; i++)
        buf_str(out, "x");
    buf_str(out, "\nnome = y\n");
}

static void a_line_is_taken_whole_or_refused_never_cut(void **state)
{
    (void)state;
    size_t longest = 0;
    for (size_t len = 100; len < 400; len++) {
        struct buf text = {0}, mistakes = {0};
        long_line(len, &text);
        site_text_wrong(text.data, text.len, &mistakes);
        /* The line below keeps its number whatever became of the long one. */
        assert_non_null(strstr(mistakes.data, "site.ini:3: unknown key \"nome\""));
        if (strstr(mistakes.data, "site.ini:2: ") == NULL)
            longest = len;
        else
            assert_non_null(strstr(mistakes.data, "allowed: at most "));
        buf_free(&text);
        buf_free(&mistakes);
    }
    /* inih's lines are 200 bytes with their end, as Debian builds it. */
    assert_int_equal(longest, 199);
    struct buf text = {0};
    buf_str(&text, "[studio]\nname = ");
    for (size_t i = strlen("name = "); i < longest; i++)
        buf_str(&text, "x");
    struct site *s = site_text_sound(text.data, text.len);
    assert_int_equal(strlen(s->studio), longest - strlen("name = "));
    site_free(s);
    buf_free(&text);
}

static void a_long_heading_is_not_cut_into_another_name(void **state)
{
    (void)state;
    /* inih keeps 49 bytes of a heading: these two would be one section to it. */
    static const char text[] = "[instrument abcdefghijabcdefghijabcdefghijabcdefgh-1]\n"
                               "[instrument abcdefghijabcdefghijabcdefghijabcdefgh-2]\n";
    struct buf mistakes = {0};
    site_text_wrong(text, sizeof text - 1, &mistakes);
    assert_null(strstr(mistakes.data, "again"));
    assert_non_null(strstr(mistakes.data, "site.ini:2: [instrument "
                                          "abcdefghijabcdefghijabcdefghijabcdefgh-2] reads "
                                          "nothing"));
    buf_free(&mistakes);
}

static void a_thousand_sections_keep_their_lines(void **state)
{
    (void)state;
    struct buf text = {0};
    for (int i = 0; i < 1000; i++)
        buf_printf(&text, "[zone z-%d]\ntitle = Zone %d\n", i, i);
    struct site *s = site_text_sound(text.data, text.len);
    assert_int_equal(s->zone_count, 1000);
    for (int i = 0; i < 1000; i++)
        assert_int_equal(s->zones[i].line, 2 * i + 1);
    assert_string_equal(s->zones[999].title, "Zone 999");
    site_free(s);
    buf_free(&text);
}

static void more_sections_than_can_be_wired_are_told_once(void **state)
{
    (void)state;
    struct buf text = {0}, mistakes = {0};
    for (int i = 0; i < 4003; i++)
        buf_printf(&text, "[zone z-%d]\n", i);
    site_text_wrong(text.data, text.len, &mistakes);
    assert_string_equal(mistakes.data, "site.ini:4001: too many sections; allowed: 4000\n");
    buf_free(&text);
    buf_free(&mistakes);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(line_ends_marks_blanks_and_comments_change_nothing),
        cmocka_unit_test(a_file_without_sections_is_a_site_without_zones),
        cmocka_unit_test(words_of_all_languages_are_kept_byte_for_byte),
        cmocka_unit_test(broken_lines_are_told_with_their_place),
        cmocka_unit_test(a_line_is_taken_whole_or_refused_never_cut),
        cmocka_unit_test(a_long_heading_is_not_cut_into_another_name),
        cmocka_unit_test(a_thousand_sections_keep_their_lines),
        cmocka_unit_test(more_sections_than_can_be_wired_are_told_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
