/* fuzz_evidence.c - any bytes as the texts of a bundle, and as a whole bundle in a tar. No crash,
 * nothing taken that we would not have written, and nothing as signed that is not. */
#define _GNU_SOURCE /* memfd_create */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <unistd.h>

#include "evidence/check.h"
#include "evidence/daytext.h"
#include "evidence/facts.h"
#include "evidence/manifest.h"
#include "evidence/ustar.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void must(bool holds, const char *what)
{
    if (holds)
        return;
    (void)fprintf(stderr, "does not hold: %s\n", what);
    abort();
}

static void check_day(const uint8_t *data, size_t size)
{
    struct daytext t;
    struct buf again = {0};
    if (!daytext_read(data, size, &t))
        return;
    daytext_write(&t, &again);
    must(again.len == size && memcmp(again.data, data, size) == 0,
         "one writing of a signed day");
    buf_free(&again);
}

static void check_list(const struct buf *text)
{
    struct manifest_cursor c = manifest_start(text);
    struct manifest_line line;
    struct buf again = {0};
    while (manifest_next(&c, &line)) {
        must(manifest_names(text, line.name), "a name that was read is named");
        buf_printf(&again, "%s  %s\n", line.hex, line.name);
    }
    must(c.bad || (again.len == text->len &&
                   (again.len == 0 || memcmp(again.data, text->data, again.len) == 0)),
         "one writing of a list");
    (void)manifest_in_zone(text, 1, "store");
    buf_free(&again);
}

static void check_key(const struct buf *text)
{
    uint8_t key[SEAL_PUBLIC];
    char again[128];
    if (seal_key_from_pem(text->data, text->len, key) != RC_OK)
        return;
    seal_key_pem(key, again, sizeof again);
    must(strlen(again) == text->len, "one writing of a key");
}

static void ignore(void *context, const struct finding *f)
{
    (void)context;
    must(f->words[0] != '\0', "a finding says what it is");
}

/* The key of nobody: nothing made up can be signed with it. */
static void check_tar(const uint8_t *data, size_t size)
{
    static const char nobody[] =
        "0000000000000000000000000000000000000000000000000000000000000000";
    int fd = memfd_create("bundle", MFD_CLOEXEC);
    must(fd >= 0 && write(fd, data, size) == (ssize_t)size, "a file in memory");
    char path[64];
    snprintf(path, sizeof path, "/proc/self/fd/%d", fd);
    const struct chain_known known = {.keys = {nobody}, .key_count = 1};
    struct findings findings = {.tell = ignore};
    struct check_seen seen;
    enum rc rc = check_bundle(path, &known, &findings, &seen);
    must(rc != RC_OK || findings.count > 0, "a forgery is found");
    close(fd);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    struct buf text = {0};
    struct facts facts;
    buf_add(&text, data, size);
    if (size > 0) {
        check_day(data, size);
        check_list(&text);
        check_key(&text);
    }
    if (facts_read(&text, &facts) == RC_OK)
        facts_free(&facts);
    buf_free(&text);
    check_tar(data, size);
    return 0;
}
