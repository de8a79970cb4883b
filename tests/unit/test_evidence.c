/* What is read of evidence from outside is read strictly: texts of signed days, MANIFESTs, tars. */
#define _GNU_SOURCE /* mkdtemp */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <setjmp.h>
#include <stdarg.h>
#include <cmocka.h>

#include "evidence/bundle.h"
#include "evidence/box.h"
#include "evidence/chain.h"
#include "evidence/daytext.h"
#include "evidence/manifest.h"
#include "evidence/packing.h"
#include "evidence/ustar.h"
#include "store/store.h"

#define HEX64 "0123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef"
#define REST "store 0123456789abcdef\nkey fedcba9876543210\n"
#define DAY(number, previous)                                                                  \
    "stillroom signed day 1\nday 2026-11-24\nnumber " number "\nmanifest " HEX64               \
    "\nprevious " previous "\n"

static void the_text_of_a_signed_day_is_read(void **state)
{
    (void)state;
    static const char text[] =
        DAY("412", HEX64) REST "note break: none since\nnote fork: yes\n";
    struct daytext t;
    const char *line;
    size_t at = 0, len;
    assert_true(daytext_read(text, sizeof text - 1, &t));
    assert_int_equal(t.day, 20781); /* date -u -d 2026-11-24 +%s, over 86400 */
    assert_int_equal(t.number, 412);
    assert_string_equal(t.manifest, HEX64);
    assert_string_equal(t.previous, HEX64);
    assert_string_equal(t.store, "0123456789abcdef");
    assert_string_equal(t.key, "fedcba9876543210");
    assert_true(daytext_note(&t, &at, &line, &len));
    assert_int_equal(len, strlen("note break: none since"));
    assert_true(daytext_note(&t, &at, &line, &len));
    assert_memory_equal(line, "note fork: yes", len);
    assert_false(daytext_note(&t, &at, &line, &len));
}

static const char *const no_signed_days[] = {
    "",
    "\n",
    DAY("412", HEX64),                                                /* cut short */
    DAY("412", HEX64) "store 0123456789abcdef\nkey fedcba9876543210", /* without the last LF */
    DAY("0412", HEX64) REST,
    DAY("+412", HEX64) REST,
    DAY("0", HEX64) REST,
    DAY("-1", HEX64) REST,
    DAY("9999999999999", HEX64) REST,
    DAY("1", HEX64) REST,  /* the first has none before it */
    DAY("2", "none") REST, /* and no other */
    DAY("412", "0123") REST,
    DAY("412", HEX64 "0") REST,
    DAY("412", HEX64) "store 0123456789ABCDEF\nkey fedcba9876543210\n",
    DAY("412", HEX64) "key fedcba9876543210\nstore 0123456789abcdef\n",
    DAY("412", HEX64) REST "\n",
    DAY("412", HEX64) REST "note \n",
    DAY("412", HEX64) REST "Note break: x\n",
    DAY("412", HEX64) REST "note break: x\r\n",
    DAY("412", HEX64) REST "note break: x",
    DAY("412", HEX64) "store 0123456789abcdef\nkey fedcba9876543210\nkey fedcba9876543210\n",
    "stillroom signed day 2\nday 2026-11-24\nnumber 2\nmanifest " HEX64 "\nprevious " HEX64
    "\n" REST,
    "stillroom signed day 1\nday 2026-02-30\nnumber 2\nmanifest " HEX64 "\nprevious " HEX64
    "\n" REST,
    "stillroom signed day 1\nday  2026-02-20\nnumber 2\nmanifest " HEX64 "\nprevious " HEX64
    "\n" REST,
};

static void anything_else_is_no_signed_day(void **state)
{
    (void)state;
    struct daytext t;
    for (size_t i = 0; i < sizeof no_signed_days / sizeof *no_signed_days; i++) {
        if (daytext_read(no_signed_days[i], strlen(no_signed_days[i]), &t))
            fail_msg("taken: %s", no_signed_days[i]);
    }
    /* A NUL where the text would end for string functions. */
    char text[] = DAY("412", HEX64) REST;
    text[strlen(text) - 1] = '\0';
    assert_false(daytext_read(text, sizeof text - 1, &t));
}

static const struct {
    const char *text;
    bool good;
} manifests[] = {
    {HEX64 "  channel-1.csv\n", true},
    {HEX64 "  2026-11-24/day.txt\n", true},
    {"", true},
    {HEX64 "  channel-1.csv", false},
    {HEX64 " channel-1.csv\n", false},
    {HEX64 " *channel-1.csv\n", false},
    {HEX64 "  \n", false},
    {HEX64 "  /etc/passwd\n", false},
    {HEX64 "  a b\n", false},
    {HEX64 "  a\\nb\n", false},
    {HEX64 "  caf\xc3\xa9\n", false},
    {"\\" HEX64 "  a\n", false},
    {"0123  a\n", false},
    {"G123456789abcdef0123456789abcdef0123456789abcdef0123456789abcdef  a\n", false},
    {"0123456789ABCDEF0123456789abcdef0123456789abcdef0123456789abcdef  a\n", false},
    {"\n", false},
};

static void manifests_are_in_the_format_of_sha256sum_and_no_other(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof manifests / sizeof *manifests; i++) {
        struct buf text = {0};
        struct manifest_line line;
        buf_str(&text, manifests[i].text);
        struct manifest_cursor c = manifest_start(&text);
        size_t lines = 0;
        while (manifest_next(&c, &line))
            lines++;
        if (c.bad == manifests[i].good || lines != (manifests[i].good && text.len > 0))
            fail_msg("\"%s\" is %s", manifests[i].text, c.bad ? "refused" : "taken");
        buf_free(&text);
    }
}

static void names_of_channels_have_one_writing(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "channel-0.csv",          "channel-01.csv", "channel-+1.csv",
        "channel- 1.csv",         "channel-1.csv ", "channel-.csv",
        "channel-4294967296.csv", "Channel-1.csv",  "gaps.csv"};
    uint32_t channel = 0;
    assert_true(manifest_channel("channel-4294967295.csv", &channel));
    assert_int_equal(channel, UINT32_MAX);
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++)
        assert_false(manifest_channel(bad[i], &channel));
}

static void a_zone_is_the_last_field_and_no_part_of_one(void **state)
{
    (void)state;
    struct buf csv = {0};
    buf_str(&csv, "channel,quantity,decimals,instrument,serial,zone\n"
                  "1,humidity,2,\"i1\",\"7\",\"store\"\n"
                  "11,humidity,2,\"store\",\"8\",\"bookstore\"\n"
                  "12,humidity,2,\"i3\",\"9\",\n"
                  "13,humidity,2,\"i4\",\"10\",\"a \"\"b\"\"\"\n");
    assert_true(manifest_in_zone(&csv, 1, "store"));
    assert_false(manifest_in_zone(&csv, 11, "store"));
    assert_true(manifest_in_zone(&csv, 11, "bookstore"));
    assert_false(manifest_in_zone(&csv, 12, "store"));
    assert_false(manifest_in_zone(&csv, 12, ""));
    assert_true(manifest_in_zone(&csv, 13, "a \"b\""));
    assert_false(manifest_in_zone(&csv, 3, "a \"b\""));
    assert_true(manifest_zone_known(&csv, "bookstore"));
    assert_false(manifest_zone_known(&csv, "ookstore"));
    /* An instrument that was carried out in the day: what it read until then is the zone's. */
    struct buf before = {0};
    buf_str(&before, "12,humidity,2,\"i3\",\"9\",\"store\"\n");
    assert_true(bundle_wants("channel-12.csv", "store", &csv, &before));
    assert_false(bundle_wants("channel-12.csv", "store", &csv, NULL));
    assert_false(bundle_wants("alarms.csv", "store", &csv, &before));
    assert_false(bundle_wants("site-01234567.ini", "store", &csv, &before));
    assert_true(bundle_wants("gaps.csv", "store", &csv, &before));
    assert_true(bundle_wants("alarms.csv", NULL, &csv, &before));
    buf_free(&csv);
    buf_free(&before);
}

static void a_digest_is_known_by_sixteen_digits_or_more(void **state)
{
    (void)state;
    assert_true(chain_begins(HEX64, "0123456789abcdef"));
    assert_true(chain_begins(HEX64, "0123456789ABCDEF01"));
    assert_true(chain_begins(HEX64, HEX64));
    assert_false(chain_begins(HEX64, "0123456789abcde"));
    assert_false(chain_begins(HEX64, "0123456789abcdee"));
    assert_false(chain_begins(HEX64, HEX64 "0"));
}

static void a_flipped_bit_anywhere_in_a_header_is_seen(void **state)
{
    (void)state;
    uint8_t block[USTAR_BLOCK];
    char name[USTAR_NAME];
    uint64_t size;
    assert_true(ustar_write("b/2026-11-24/day.txt", 179, 1764000000, block));
    assert_int_equal(ustar_read(block, name, &size), USTAR_FILE);
    assert_string_equal(name, "b/2026-11-24/day.txt");
    assert_int_equal(size, 179);
    for (size_t bit = 0; bit < 8 * sizeof block; bit++) {
        block[bit / 8] ^= (uint8_t)(1U << bit % 8);
        if (ustar_read(block, name, &size) != USTAR_BAD)
            fail_msg("bit %zu", bit);
        block[bit / 8] ^= (uint8_t)(1U << bit % 8);
    }
}

static void a_header_holds_no_more_than_it_can(void **state)
{
    (void)state;
    uint8_t block[USTAR_BLOCK];
    char name[120];
    memset(name, 'n', sizeof name);
    name[100] = '\0';
    assert_false(ustar_write(name, 1, 0, block));
    name[99] = '\0';
    assert_true(ustar_write(name, 1, 0, block));
    assert_false(ustar_write("n", 1ULL << 33, 0, block));
}

/* -- tars that nobody should have made -- */

struct heard {
    size_t count;
    char first[600];
};

static void hear(void *context, const struct finding *f)
{
    struct heard *h = context;
    if (h->count++ == 0)
        snprintf(h->first, sizeof h->first, "%s %s", f->file, f->words);
}

static void member(FILE *f, const char *name, char type, uint64_t size, const char *data)
{
    static const char zeros[USTAR_BLOCK];
    uint8_t block[USTAR_BLOCK];
    size_t len = strlen(data);
    assert_true(ustar_write(name, size, 0, block));
    block[156] = (uint8_t)type;
    unsigned sum = 0;
    memset(block + 148, ' ', 8);
    for (size_t i = 0; i < sizeof block; i++)
        sum += block[i];
    snprintf((char *)block + 148, 7, "%06o", sum & 0777777U);
    block[155] = ' ';
    assert_int_equal(fwrite(block, 1, sizeof block, f), sizeof block);
    assert_int_equal(fwrite(data, 1, len, f), len);
    size_t over = (USTAR_BLOCK - len % USTAR_BLOCK) % USTAR_BLOCK;
    assert_int_equal(fwrite(zeros, 1, over, f), over);
}

/* Two good members with one of the rows below between them. */
static const struct {
    const char *name;
    char type;
    uint64_t size;
    const char *data, *words; /* what must be said of it */
} hostile[] = {
    {"../../etc/cron.d/x", '0', 1, "x", "outside the bundle's folder"},
    {"/etc/passwd", '0', 1, "x", "outside the bundle's folder"},
    {"other/day.txt", '0', 1, "x", "outside the bundle's folder"},
    {"b/link", '2', 0, "", "here should be the next file"},
    {"b/device", '3', 0, "", "here should be the next file"},
    {"b/long", 'L', 10, "0123456789", "here should be the next file"},
    {"b/huge", '0', 077777777777, "x", "ends within this file"},
    {"b/first", '0', 1, "y", "two files of this name"},
};

static void a_hostile_tar_is_named_and_does_no_harm(void **state)
{
    (void)state;
    char path[] = "/tmp/stillroom-test-XXXXXX";
    int fd = mkstemp(path);
    assert_true(fd >= 0);
    close(fd);
    for (size_t i = 0; i < sizeof hostile / sizeof *hostile; i++) {
        static const char end[2 * USTAR_BLOCK];
        struct heard heard = {0};
        struct findings findings = {.tell = hear, .context = &heard};
        struct box *box = NULL;
        struct buf file = {0};
        FILE *f = fopen(path, "wb");
        assert_non_null(f);
        member(f, "b/first", '0', 5, "first");
        member(f, hostile[i].name, hostile[i].type, hostile[i].size, hostile[i].data);
        member(f, "b/last", '0', 4, "last");
        assert_int_equal(fwrite(end, 1, sizeof end, f), sizeof end);
        fclose(f);
        assert_int_equal(box_open(path, &findings, &box), RC_OK);
        if (heard.count == 0 || strstr(heard.first, hostile[i].words) == NULL)
            fail_msg("%s: %s", hostile[i].name, heard.first);
        assert_int_equal(box_read(box, "first", &file), RC_OK);
        assert_true(box_count(box) <= 3);
        /* Only a size that swallows the rest hides what comes after. */
        assert_int_equal(box_has(box, "last"), hostile[i].size < 100);
        buf_free(&file);
        box_close(box);
    }
    unlink(path);
}

static void nothing_of_what_was_tampered_with_reaches_a_terminal(void **state)
{
    (void)state;
    struct heard heard = {0};
    struct findings findings = {.tell = hear, .context = &heard};
    findings_add(&findings, FINDING_EXTRA, "", "a\x1b[2Jb", "caf\xc3\xa9 \xff\n%s", "x\ty");
    assert_string_equal(heard.first, "a\\x1b[2Jb caf\\xc3\\xa9 \\xff\\x0ax\\x09y");
    char full[3000];
    memset(full, '\x01', sizeof full - 1);
    full[sizeof full - 1] = '\0';
    heard = (struct heard){0};
    findings_add(&findings, FINDING_EXTRA, "", full, "%s", full);
    assert_int_equal(heard.count, 1);
    assert_memory_equal(heard.first, "\\x01\\x01", 8);
}

static void a_folder_gives_no_more_than_its_own_regular_files(void **state)
{
    (void)state;
    char folder[] = "/tmp/stillroom-test-XXXXXX", command[400];
    struct heard heard = {0};
    struct findings findings = {.tell = hear, .context = &heard};
    struct box *box = NULL;
    struct buf file = {0};
    assert_non_null(mkdtemp(folder));
    snprintf(
        command, sizeof command,
        "cd %s && mkdir -p d/e && echo x >d/f && ln -s /etc/passwd d/link && mkfifo pipe && "
        "echo y >d/e/deep",
        folder);
    assert_int_equal(system(command), 0);
    assert_int_equal(box_open(folder, &findings, &box), RC_OK);
    assert_int_equal(box_count(box), 4);
    assert_int_equal(box_read(box, "d/f", &file), RC_OK);
    assert_string_equal(file.data, "x\n");
    assert_int_equal(box_read(box, "d/link", &file), RC_CORRUPT);
    assert_int_equal(box_read(box, "pipe", &file), RC_CORRUPT);
    assert_int_equal(box_read(box, "d/e/", &file), RC_CORRUPT);
    assert_int_equal(box_read(box, "d/e/deep", &file), RC_NOT_FOUND);
    assert_int_equal(box_read(box, "../x", &file), RC_NOT_FOUND);
    buf_free(&file);
    box_close(box);
    snprintf(command, sizeof command, "rm -rf %s", folder);
    assert_int_equal(system(command), 0);
}

static void an_unfinished_bundle_leaves_nothing_behind(void **state)
{
    (void)state;
    char folder[] = "/tmp/stillroom-test-XXXXXX", path[64];
    static const char *const names[] = {"bundle", "bundle.tar"};
    assert_non_null(mkdtemp(folder));
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        struct packing *p = NULL;
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        assert_int_equal(packing_begin(path, 0, &p), RC_OK);
        assert_int_equal(packing_add(p, "key.pem", "x", 1), RC_OK);
        assert_int_equal(packing_add(p, "2026-11-24/day.txt", "x", 1), RC_OK);
        assert_int_not_equal(access(path, F_OK), 0);
        packing_free(p);
    }
    assert_int_equal(rmdir(folder), 0); /* which only an empty folder lets be done */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_text_of_a_signed_day_is_read),
        cmocka_unit_test(anything_else_is_no_signed_day),
        cmocka_unit_test(manifests_are_in_the_format_of_sha256sum_and_no_other),
        cmocka_unit_test(names_of_channels_have_one_writing),
        cmocka_unit_test(a_zone_is_the_last_field_and_no_part_of_one),
        cmocka_unit_test(a_digest_is_known_by_sixteen_digits_or_more),
        cmocka_unit_test(a_flipped_bit_anywhere_in_a_header_is_seen),
        cmocka_unit_test(a_header_holds_no_more_than_it_can),
        cmocka_unit_test(a_hostile_tar_is_named_and_does_no_harm),
        cmocka_unit_test(nothing_of_what_was_tampered_with_reaches_a_terminal),
        cmocka_unit_test(a_folder_gives_no_more_than_its_own_regular_files),
        cmocka_unit_test(an_unfinished_bundle_leaves_nothing_behind),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
