/* site_text.h - parses a site file that stands in a test, and shows its mistakes. */
#ifndef TESTS_SUPPORT_SITE_TEXT_H
#define TESTS_SUPPORT_SITE_TEXT_H

#include "support/near.h"

#include <stdio.h>
#include <string.h>

#include "site/site.h"

/* A site that must be sound; the caller frees it. */
static inline struct site *site_text_sound(const char *text, size_t len)
{
    struct buf mistakes = {0};
    struct site *site = NULL;
    enum rc rc = site_parse("site.ini", text, len, &mistakes, &site);
    if (rc != RC_OK)
        print_error("%s: %s", rc_text(rc), mistakes.data != NULL ? mistakes.data : "\n");
    assert_int_equal(rc, RC_OK);
    assert_int_equal(mistakes.len, 0);
    buf_free(&mistakes);
    assert_non_null(site);
    return site;
}

/* The mistakes of a text that must have some; the caller frees them. */
static inline void site_text_wrong(const char *text, size_t len, struct buf *mistakes)
{
    struct site *site = NULL;
    enum rc rc = site_parse("site.ini", text, len, mistakes, &site);
    if (rc != RC_BAD_INPUT)
        print_error("taken as sound: %.*s\n", (int)len, text);
    assert_int_equal(rc, RC_BAD_INPUT);
    assert_null(site);
    assert_non_null(mistakes->data);
}

/* That the mistakes of a text are exactly these lines. */
static inline void site_text_gives(const char *text, const char *want)
{
    struct buf mistakes = {0};
    site_text_wrong(text, strlen(text), &mistakes);
    assert_string_equal(mistakes.data, want);
    buf_free(&mistakes);
}

#endif
