/* test_letter.c - a mail on the wire: RFC 5322 (headers, date), RFC 2045 (quoted-printable),
 * RFC 2047 (encoded words). */
#include "tool/letter.h"

#include <stdbool.h>
#include <string.h>

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <cmocka.h>

#include "base/clock.h"

static void letter(const char *subject, const char *body, struct buf *out)
{
    const struct letter l = {.from = "stillroom@studio.example",
                             .to = "anna@studio.example",
                             .sender = "Harbour \"Lane\"",
                             .subject = subject,
                             .body = body,
                             .message_id = "1@studio.example",
                             .written_s = 880127706};
    letter_write(&l, out);
    assert_false(out->failed);
}

static void contains(const struct buf *text, const char *part)
{
    if (strstr(text->data, part) == NULL)
        print_error("\"%s\" is not in:\n%s\n", part, text->data);
    assert_non_null(strstr(text->data, part));
}

/* The date is the example of RFC 5322, A.1.1: Fri, 21 Nov 1997 09:55:06 -0600, in UTC. */
static void the_headers_say_who_when_and_under_which_id(void **state)
{
    (void)state;
    struct buf text = {0};
    letter("Leak", "One.\n", &text);
    contains(&text, "Date: Fri, 21 Nov 1997 15:55:06 +0000\r\n");
    contains(&text, "\r\nFrom: \"Harbour \\\"Lane\\\"\" <stillroom@studio.example>\r\n");
    contains(&text, "\r\nTo: <anna@studio.example>\r\nSubject: Leak\r\n");
    contains(&text, "\r\nMessage-ID: <1@studio.example>\r\n");
    contains(&text, "\r\n\r\nOne.\r\n");
    buf_free(&text);
}

/* RFC 2045, 6.7: "=" and what is beyond ASCII as =XX, no blank at the end of a line, no line
 * longer than 76; RFC 5322, 2.3: no line feed without its carriage return. */
static void the_text_is_quoted_where_it_must_be(void **state)
{
    (void)state;
    struct buf text = {0};
    letter("x", "a=b 5 °C \nend\n", &text);
    contains(&text, "\r\n\r\na=3Db 5 =C2=B0C=20\r\nend\r\n");
    buf_free(&text);
    char longest[512];
    memset(longest, 'w', sizeof longest - 1);
    longest[sizeof longest - 1] = '\0';
    letter("x", longest, &text);
    for (const char *line = text.data; *line != '\0';) {
        size_t len = strcspn(line, "\r\n");
        assert_in_range(len, 0, 76);
        line += len;
        if (*line != '\0') {
            assert_memory_equal(line, "\r\n", 2);
            line += 2;
        }
    }
    buf_free(&text);
}

/* RFC 2047, 2: an encoded word has at most 75 characters, and holds whole characters only. */
static void a_subject_beyond_ascii_is_encoded_in_words_of_whole_characters(void **state)
{
    (void)state;
    struct buf text = {0};
    letter("Feucht im Küfer", "x\n", &text);
    contains(&text, "Subject: =?UTF-8?Q?Feucht_im_K=C3=BC?=\r\n =?UTF-8?Q?fer?=\r\n");
    buf_free(&text);
    letter("ÄÖÜäöüßéèêëàâîïôûçÄÖÜäöüßéèêëàâîïôûç", "x\n", &text);
    size_t seen = 0;
    for (const char *word = strstr(text.data, "=?"); word != NULL;
         word = strstr(word + 2, "=?")) {
        const char *end = strstr(word + 10, "?=");
        assert_non_null(end);
        assert_in_range(end + 2 - word, 12, 75);
        assert_int_equal((end - word - 10) % 6, 0); /* two bytes of three signs a letter */
        seen++;
    }
    assert_in_range(seen, 5, 12);
    buf_free(&text);
}

/* A line break in a name or subject would begin a header of its own. */
static void nothing_in_a_subject_becomes_a_header(void **state)
{
    (void)state;
    struct buf text = {0};
    letter("a\r\nBcc: b@c", "x\n", &text);
    assert_null(strstr(text.data, "\nBcc"));
    buf_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_headers_say_who_when_and_under_which_id),
        cmocka_unit_test(the_text_is_quoted_where_it_must_be),
        cmocka_unit_test(a_subject_beyond_ascii_is_encoded_in_words_of_whole_characters),
        cmocka_unit_test(nothing_in_a_subject_becomes_a_header),
    };
    return clock_zone_set("UTC") ? cmocka_run_group_tests(tests, NULL, NULL) : 1;
}
