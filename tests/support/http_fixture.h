/* http_fixture.h - a server on a port of its own, over a small site, a store that is real but
 * empty, and a recorder that is not there (fake_live.h). */
#ifndef TESTS_SUPPORT_HTTP_FIXTURE_H
#define TESTS_SUPPORT_HTTP_FIXTURE_H

#include "support/near.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#include "base/seal.h"
#include "http/server.h"
#include "store/store.h"
#include "support/fake_live.h"
#include "support/http_client.h"
#include "support/site_text.h"

/* 2026-11-25 12:00 UTC, a Wednesday. */
enum {
    FIXTURE_NOW_S = 1795608000
};

static const char fixture_site[] = "[studio]\n"
                                   "name = Harbour Lane \"Studio\"\n"
                                   "timezone = Europe/London\n"
                                   "altitude_m = 40\n"
                                   "defaults = no\n"
                                   "[http]\n"
                                   "names = studio.example\n"
                                   "[bus bench-line]\n"
                                   "kind = modbus-tcp\n"
                                   "address = 127.0.0.1:1502\n"
                                   "[zone drying-room]\n"
                                   "title = Drying room\n"
                                   "purpose = drying\n"
                                   "[zone store-2]\n"
                                   "title = Store 2\n"
                                   "purpose = store\n"
                                   "[instrument dr-1]\n"
                                   "bus = bench-line\n"
                                   "unit = 3\n"
                                   "serial = 41177\n"
                                   "every = 30 s\n"
                                   "zone = drying-room\n"
                                   "read = temperature input 1 int16 x0.1\n"
                                   "read = humidity input 2 uint16 x0.1\n"
                                   "[instrument st-1]\n"
                                   "bus = bench-line\n"
                                   "unit = 4\n"
                                   "serial = 41178\n"
                                   "every = 60 s\n"
                                   "zone = store-2\n"
                                   "read = humidity input 2 uint16 x0.1\n"
                                   "[limit drying-room-damp]\n"
                                   "zone = drying-room\n"
                                   "rule = humidity above 65\n"
                                   "on_delay = 30 min\n"
                                   "deadband = 3\n"
                                   "priority = medium\n"
                                   "[limit store-quiet]\n"
                                   "zone = store-2\n"
                                   "rule = silent\n"
                                   "priority = low\n";

struct fixture {
    struct site *site;
    struct live *live;
    struct http *http;
    char folder[64];
    char store[96];
    uint16_t port;
};

static inline void fixture_store(struct fixture *f)
{
    snprintf(f->folder, sizeof f->folder, "/tmp/stillroom-http-XXXXXX");
    assert_non_null(mkdtemp(f->folder));
    snprintf(f->store, sizeof f->store, "%s/stillroom.db", f->folder);
    struct store *store = NULL;
    assert_int_equal(store_open(f->store, &store), RC_OK);
    assert_int_equal(store_begin(store), RC_OK);
    for (size_t i = 0; i < f->site->zone_count; i++) {
        const struct site_zone *z = &f->site->zones[i];
        uint32_t id = 0;
        assert_int_equal(store_zone(store, z->name, z->title, "store", &id), RC_OK);
        assert_int_equal(id, i + 1); /* as the fake numbers them */
    }
    assert_int_equal(store_commit(store), RC_OK);
    store_close(store);
}

static inline void fixture_open(struct fixture *f)
{
    *f = (struct fixture){0};
    assert_int_equal(seal_start(), RC_OK);
    assert_true(clock_zone_set("Europe/London"));
    f->site = site_text_sound(fixture_site, sizeof fixture_site - 1);
    f->site->http_port = "0"; /* any free one */
    fixture_store(f);
    f->live = fake_live_new(f->site, FIXTURE_NOW_S);
    struct http_config config = {
        .site = f->site, .live = f->live, .store_path = f->store, .version = "0.1.0"};
    assert_int_equal(http_start(&config, &f->http), RC_OK);
    f->port = http_port(f->http);
}

static inline void fixture_close(struct fixture *f)
{
    static const char *const ends[] = {"", "-wal", "-shm", ".lock"};
    http_stop(f->http);
    fake_live_free(f->live);
    site_free(f->site);
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        char path[128];
        snprintf(path, sizeof path, "%s%s", f->store, ends[i]);
        unlink(path);
    }
    assert_int_equal(rmdir(f->folder), 0);
}

static inline int fixture_setup(void **state)
{
    static struct fixture fixture;
    fixture_open(&fixture);
    *state = &fixture;
    return 0;
}

static inline int fixture_teardown(void **state)
{
    fixture_close(*state);
    return 0;
}

#endif
