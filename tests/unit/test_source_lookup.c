/* Names of hosts are looked up without holding up who asks. */
#include "support/near.h"

#include <string.h>
#include <sys/socket.h>
#include <unistd.h>

#include "base/clock.h"
#include "source/lookup.h"

static void digits_and_the_local_name_give_addresses(void **state)
{
    (void)state;
    static const char *const hosts[] = {"127.0.0.1", "localhost", "::1"};
    for (size_t i = 0; i < sizeof hosts / sizeof *hosts; i++) {
        struct addrinfo *list = NULL;
        const char *fault = lookup_host(hosts[i], "502", 5000, -1, &list);
        if (fault != NULL)
            fail_msg("%s: %s", hosts[i], fault);
        assert_non_null(list);
        assert_int_equal(list->ai_socktype, SOCK_STREAM);
        freeaddrinfo(list);
    }
}

/* ".invalid" never exists (RFC 2606); with no name server the wait ends it. */
static void a_name_that_does_not_exist_is_a_fault_in_words(void **state)
{
    (void)state;
    struct addrinfo *list = NULL;
    int64_t before = clock_now().mono_ms;
    const char *fault = lookup_host("gateway.invalid", "502", 700, -1, &list);
    assert_non_null(fault);
    assert_true(strlen(fault) > 5);
    assert_true(fault != lookup_cancelled);
    assert_null(list);
    assert_true(clock_now().mono_ms - before < 1500);
}

static void a_byte_on_the_wake_descriptor_ends_the_wait(void **state)
{
    (void)state;
    int wake[2];
    assert_int_equal(pipe(wake), 0);
    assert_int_equal(write(wake[1], "", 1), 1);
    /* Most likely cancelled; a name service that fails at once is as good. Either way the call
     * returns now, many times over, and what it leaves behind cleans up by itself. */
    int64_t before = clock_now().mono_ms;
    for (int i = 0; i < 20; i++) {
        struct addrinfo *list = NULL;
        assert_non_null(lookup_host("gateway.invalid", "502", 5000, wake[0], &list));
        assert_null(list);
    }
    assert_true(clock_now().mono_ms - before < 3000);
    close(wake[0]);
    close(wake[1]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(digits_and_the_local_name_give_addresses),
        cmocka_unit_test(a_name_that_does_not_exist_is_a_fault_in_words),
        cmocka_unit_test(a_byte_on_the_wake_descriptor_ends_the_wait),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
