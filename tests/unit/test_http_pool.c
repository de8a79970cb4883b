/* The few connections to the store: lent, waited for, and what a client is told if there is
 * none to be had. */
#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/seal.h"
#include "http/pool.h"
#include "http/reply.h"
#include "store/store.h"

struct place {
    char folder[64], db[96];
};

static int make(void **state)
{
    static struct place p;
    snprintf(p.folder, sizeof p.folder, "/tmp/stillroom-pool-XXXXXX");
    struct store *store = NULL;
    if (seal_start() != RC_OK || mkdtemp(p.folder) == NULL)
        return -1;
    snprintf(p.db, sizeof p.db, "%s/stillroom.db", p.folder);
    if (store_open(p.db, &store) != RC_OK)
        return -1;
    store_close(store);
    *state = &p;
    return 0;
}

static int unmake(void **state)
{
    const struct place *p = *state;
    static const char *const ends[] = {"", "-wal", "-shm", ".lock"};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        char path[128];
        snprintf(path, sizeof path, "%s%s", p->db, ends[i]);
        unlink(path);
    }
    return rmdir(p->folder);
}

static void the_fifth_who_asks_waits_and_is_then_told_that_all_are_busy(void **state)
{
    const struct place *p = *state;
    struct pool *pool = NULL;
    struct reader *lent[POOL_READERS], *more = NULL;
    assert_int_equal(pool_open(p->db, &pool), RC_OK);
    for (int i = 0; i < POOL_READERS; i++)
        assert_int_equal(pool_take(pool, POOL_WAIT_MS, &lent[i]), RC_OK);
    int64_t before_ms = clock_now().mono_ms;
    assert_int_equal(pool_take(pool, POOL_WAIT_MS, &more), RC_BUSY);
    assert_true(clock_now().mono_ms - before_ms >= POOL_WAIT_MS - 50);
    assert_null(more);
    pool_give(pool, lent[0], RC_OK);
    assert_int_equal(pool_take(pool, POOL_WAIT_MS, &more), RC_OK);
    assert_ptr_equal(more, lent[0]); /* the one that was given back, not a fifth */
    pool_give(pool, more, RC_OK);
    for (int i = 1; i < POOL_READERS; i++)
        pool_give(pool, lent[i], RC_OK);
    pool_close(pool);
}

static void a_connection_that_met_a_damaged_store_is_not_lent_again(void **state)
{
    const struct place *p = *state;
    struct pool *pool = NULL;
    struct reader *reader = NULL;
    assert_int_equal(pool_open(p->db, &pool), RC_OK);
    for (int i = 0; i < 3 * POOL_READERS; i++) { /* more than there are places */
        assert_int_equal(pool_take(pool, POOL_WAIT_MS, &reader), RC_OK);
        pool_give(pool, reader, i % 2 == 0 ? RC_CORRUPT : RC_TIMEOUT);
    }
    pool_close(pool);
}

static void a_store_that_is_not_there_takes_no_place(void **state)
{
    (void)state;
    struct pool *pool = NULL;
    struct reader *reader = NULL;
    assert_int_equal(pool_open("/nonexistent/stillroom.db", &pool), RC_OK);
    for (int i = 0; i < 2 * POOL_READERS; i++) {
        enum rc rc = pool_take(pool, POOL_WAIT_MS, &reader);
        assert_true(rc != RC_OK && rc != RC_BUSY);
    }
    assert_null(reader);
    pool_close(pool);
}

static void who_cannot_be_answered_now_is_told_to_try_again(void **state)
{
    (void)state;
    static const struct {
        enum rc rc;
        int status, retry_after_s;
    } rows[] = {{RC_BUSY, 503, 2},  {RC_TIMEOUT, 503, 2}, {RC_NOT_FOUND, 404, 0},
                {RC_NOMEM, 500, 0}, {RC_CORRUPT, 500, 0}, {RC_BAD_INPUT, 400, 0},
                {RC_NEWER, 500, 0}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct reply reply = {0};
        buf_str(&reply.body, "half an answer");
        reply_rc(&reply, rows[i].rc);
        assert_int_equal(reply.status, rows[i].status);
        assert_int_equal(reply.retry_after_s, rows[i].retry_after_s);
        assert_string_equal(reply.type, "application/problem+json");
        assert_null(strstr(reply.body.data, "half an answer"));
        reply_free(&reply);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_fifth_who_asks_waits_and_is_then_told_that_all_are_busy),
        cmocka_unit_test(a_connection_that_met_a_damaged_store_is_not_lent_again),
        cmocka_unit_test(a_store_that_is_not_there_takes_no_place),
        cmocka_unit_test(who_cannot_be_answered_now_is_told_to_try_again),
    };
    return cmocka_run_group_tests(tests, make, unmake);
}
