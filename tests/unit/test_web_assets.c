/* test_web_assets.c - the pages as embedded: all there, whole, and told apart by their tags. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>
#include <zlib.h>

#include "assets.h"

enum {
    MOST_BYTES = 1 << 20
};

static const struct web_asset *find(const char *path)
{
    for (size_t i = 0; i < web_asset_count; i++)
        if (strcmp(web_assets[i].path, path) == 0)
            return &web_assets[i];
    fail_msg("%s is not embedded", path);
    return web_assets; /* not reached, but a compiler cannot know that */
}

/* The plain content, ended by a zero; the caller frees it. */
static char *content(const struct web_asset *a, size_t *out_size)
{
    char *text = malloc(MOST_BYTES + 1);
    assert_non_null(text);
    if (!a->gzip) {
        assert_true(a->size <= MOST_BYTES);
        memcpy(text, a->data, a->size);
        *out_size = a->size;
    } else {
        z_stream z = {.avail_in = (uInt)a->size, .avail_out = MOST_BYTES};
        z.next_in = (Bytef *)(uintptr_t)a->data; /* zlib reads only, but takes no const */
        z.next_out = (Bytef *)text;
        assert_int_equal(inflateInit2(&z, 16 + MAX_WBITS), Z_OK); /* 16: a gzip header */
        assert_int_equal(inflate(&z, Z_FINISH), Z_STREAM_END);
        assert_int_equal(z.avail_in, 0);
        *out_size = z.total_out;
        inflateEnd(&z);
    }
    text[*out_size] = '\0';
    return text;
}

static void every_file_unpacks_and_has_a_type_and_a_quoted_tag(void **state)
{
    (void)state;
    assert_true(web_asset_count > 0);
    for (size_t i = 0; i < web_asset_count; i++) {
        const struct web_asset *a = &web_assets[i];
        size_t size = 0;
        char *text = content(a, &size);
        assert_true(size > 0);
        assert_int_equal(strlen(text), size); /* all of them are text */
        free(text);
        assert_int_equal(a->path[0], '/');
        assert_non_null(strchr(a->type, '/'));
        size_t len = strlen(a->etag);
        assert_true(len > 2 && a->etag[0] == '"' && a->etag[len - 1] == '"');
    }
}

static void no_two_files_share_a_path_or_a_tag(void **state)
{
    (void)state;
    for (size_t i = 0; i < web_asset_count; i++)
        for (size_t j = i + 1; j < web_asset_count; j++) {
            assert_string_not_equal(web_assets[i].path, web_assets[j].path);
            assert_string_not_equal(web_assets[i].etag, web_assets[j].etag);
        }
}

static void what_the_page_asks_for_is_embedded(void **state)
{
    (void)state;
    const struct web_asset *index = find("/index.html");
    assert_non_null(index);
    assert_string_equal(index->type, "text/html; charset=utf-8");
    size_t size = 0;
    char *page = content(index, &size);
    for (char *p = page; (p = strstr(p, "\"/assets/")) != NULL;) {
        char *path = p + 1;
        char *end = strchr(path, '"');
        assert_non_null(end);
        *end = '\0';
        assert_true(find(path)->size > 0);
        p = end + 1;
    }
    free(page);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_file_unpacks_and_has_a_type_and_a_quoted_tag),
        cmocka_unit_test(no_two_files_share_a_path_or_a_tag),
        cmocka_unit_test(what_the_page_asks_for_is_embedded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
