/* test_rainflow.c - ASTM E1049-85 section 5.4.4: the standard's worked example, and one in
 * humidity whose cycles follow from the standard's rules by hand. */
#include "stillroom/rainflow.h"

#include "support/near.h"

#define ROOM 16

static struct sr_rainflow_cycle cycles[ROOM];
static double stack[ROOM];

static double count_of(const struct sr_rainflow_list *list, double range)
{
    double count = 0.0;
    for (size_t i = 0; i < list->n; i++)
        if (fabs(list->cycles[i].range - range) < 1e-9)
            count += list->cycles[i].count;
    return count;
}

static void the_standards_example_is_counted_in_order(void **state)
{
    (void)state;
    static const double history[] = {-2, 1, -3, 5, -1, 3, -4, 4, -2};
    static const struct sr_rainflow_cycle want[] = {
        {3, -0.5, 0.5}, {4, -1, 0.5}, {4, 1, 1},   {8, 1, 0.5},
        {9, 0.5, 0.5},  {8, 0, 0.5},  {6, 1, 0.5},
    };
    struct sr_rainflow_list list = {cycles, ROOM, 0};
    assert_int_equal(sr_rainflow_count(history, 9, 0.0, stack, &list), SR_OK);
    assert_int_equal(list.n, 7);
    for (size_t i = 0; i < 7; i++) {
        assert_near(cycles[i].range, want[i].range, 1e-12);
        assert_near(cycles[i].mean, want[i].mean, 1e-12);
        assert_near(cycles[i].count, want[i].count, 1e-12);
    }
    /* Half cycles are halves: 1.5 of range 4, not 1 and not 2. */
    static const double by_range[][2] = {{3, 0.5}, {4, 1.5}, {6, 0.5}, {8, 1.0}, {9, 0.5}};
    for (size_t i = 0; i < 5; i++)
        assert_near(count_of(&list, by_range[i][0]), by_range[i][1], 1e-12);
}

static void a_humidity_record_is_counted(void **state)
{
    (void)state;
    static const double rh[] = {50, 62, 48, 70, 55, 58, 45, 50};
    static const double by_range[][2] = {{3, 1},    {5, 0.5},  {12, 0.5},
                                         {14, 0.5}, {22, 0.5}, {25, 0.5}};
    struct sr_rainflow_list list = {cycles, ROOM, 0};
    assert_int_equal(sr_rainflow_count(rh, 8, 0.0, stack, &list), SR_OK);
    assert_int_equal(list.n, 6);
    for (size_t i = 0; i < 6; i++)
        assert_near(count_of(&list, by_range[i][0]), by_range[i][1], 1e-12);
}

static void equal_neighbours_are_one_reversal(void **state)
{
    (void)state;
    static const double history[] = {-2, -2, 1, 1, -3, 5, 5, 5, -1, 3, -4, 4, -2, -2};
    struct sr_rainflow_list list = {cycles, ROOM, 0};
    assert_int_equal(sr_rainflow_count(history, 14, 0.0, stack, &list), SR_OK);
    assert_int_equal(list.n, 7);
    assert_near(count_of(&list, 4), 1.5, 1e-12);
}

/* A gate of 1 to 2 % RH, bins of 5 % and the 20 % of the ranking sum: project choices. */
static void small_wiggles_are_gated_and_the_rest_binned(void **state)
{
    (void)state;
    static const double rh[] = {50, 51, 49.5, 60, 59, 60.5, 45, 50};
    struct sr_rainflow_list list = {cycles, ROOM, 0};
    assert_int_equal(sr_rainflow_count(rh, 8, 1.5, stack, &list), SR_OK);
    assert_int_equal(list.n, 3); /* 50 to 60.5, to 45, to 50 */
    assert_near(count_of(&list, 10.5), 0.5, 1e-12);
    assert_near(count_of(&list, 15.5), 0.5, 1e-12);
    assert_near(count_of(&list, 5), 0.5, 1e-12);
    double bins[3], rank;
    assert_int_equal(sr_rainflow_histogram(&list, 5.0, bins, 3), SR_OK);
    assert_near(bins[0], 0.0, 0.0);
    assert_near(bins[1], 0.5, 1e-12);
    assert_near(bins[2], 1.0, 1e-12); /* the last takes all beyond */
    assert_int_equal(sr_rainflow_rank(&list, 2.0, &rank), SR_OK);
    assert_near(rank, 0.5 * (10.5 * 10.5 + 15.5 * 15.5 + 25) / 400.0, 1e-12);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_standards_example_is_counted_in_order),
        cmocka_unit_test(a_humidity_record_is_counted),
        cmocka_unit_test(equal_neighbours_are_one_reversal),
        cmocka_unit_test(small_wiggles_are_gated_and_the_rest_binned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
