/* plan.c - see plan.h. */
#include "source/plan.h"

#include <stdlib.h>

#include "base/log.h"
#include "source/decode.h"

static unsigned width(const struct plan_item *item)
{
    return decode_width(item->read->type);
}

static int in_order(const void *a, const void *b)
{
    const struct plan_item *x = a, *y = b;
    if (x->read->table != y->read->table)
        return x->read->table < y->read->table ? -1 : 1;
    if (x->read->address != y->read->address)
        return x->read->address < y->read->address ? -1 : 1;
    return (width(x) > width(y)) - (width(x) < width(y));
}

static struct plan_request alone(const struct plan_group *group, size_t item)
{
    const struct site_read *read = group->items[item].read;
    return (struct plan_request){.ask = {.unit = group->unit,
                                         .table = read->table,
                                         .address = read->address,
                                         .count = (uint16_t)width(&group->items[item])},
                                 .first = item,
                                 .count = 1};
}

/* Takes one more item into a request if it lies near enough and the limits allow it. */
static bool join(struct plan_request *request, const struct plan_item *item, unsigned hole)
{
    unsigned end = request->ask.address + (unsigned)request->ask.count;
    unsigned item_end = item->read->address + width(item);
    if (item->read->table != request->ask.table || item->read->address > end + hole)
        return false;
    if (item_end > end)
        end = item_end;
    if (end - request->ask.address > frame_most(request->ask.table))
        return false;
    request->ask.count = (uint16_t)(end - request->ask.address);
    request->count++;
    return true;
}

/* The requests for a run of items, written to `out`; returns how many. */
static size_t gather(const struct plan_group *group, size_t first, size_t count, unsigned hole,
                     struct plan_request *out)
{
    size_t n = 0;
    for (size_t i = first; i < first + count; i++)
        if (n == 0 || !join(&out[n - 1], &group->items[i], hole))
            out[n++] = alone(group, i);
    return n;
}

bool plan_split(struct plan_group *group, size_t index)
{
    struct plan_request whole = group->requests[index];
    if (whole.count < 2)
        return false;
    /* Pieces are made at the far end of the array, where there is room for all of them: the
     * requests behind `whole` hold fewer items than are left. */
    size_t behind = group->request_count - index - 1;
    struct plan_request *tail = group->requests + group->item_count - behind;
    for (size_t i = behind; i-- > 0;)
        tail[i] = group->requests[index + 1 + i];
    size_t n = gather(group, whole.first, whole.count, 0, group->requests + index);
    if (n == 1) {
        for (n = 0; n < whole.count; n++)
            group->requests[index + n] = alone(group, whole.first + n);
    }
    for (size_t i = 0; i < behind; i++)
        group->requests[index + n + i] = tail[i];
    group->request_count = index + n + behind;
    return true;
}

static bool uses_size(const struct plan *plan, const struct frame_request *probe)
{
    for (size_t g = 0; g < plan->group_count; g++) {
        const struct plan_group *group = &plan->groups[g];
        for (size_t i = 0; group->unit == probe->unit && i < group->request_count; i++)
            if (group->requests[i].ask.table == probe->table &&
                frame_answer_size(&group->requests[i].ask) == frame_answer_size(probe))
                return true;
    }
    return false;
}

struct frame_request plan_step_check(const struct plan *plan, int unit)
{
    struct frame_request probe = {.unit = unit, .table = TABLE_INPUT};
    for (size_t g = 0; g < plan->group_count; g++)
        if (plan->groups[g].unit == unit) {
            probe = plan->groups[g].requests[0].ask;
            break;
        }
    /* Fewer than asked for are sure to exist; more may be refused, which is an answer too. */
    unsigned most = frame_most(probe.table);
    if (probe.address + most > 65536)
        most = 65536u - probe.address;
    for (probe.count = 1; probe.count < most && uses_size(plan, &probe);)
        probe.count++;
    return probe;
}

static struct plan_group *group_of(struct plan *plan, int unit, int every_s)
{
    for (size_t i = 0; i < plan->group_count; i++)
        if (plan->groups[i].unit == unit && plan->groups[i].every_s == every_s)
            return &plan->groups[i];
    struct plan_group *group = &plan->groups[plan->group_count++];
    *group = (struct plan_group){.unit = unit, .every_s = every_s};
    return group;
}

static enum rc add(struct plan *plan, const struct source_instrument *instrument, size_t index)
{
    const struct site_instrument *config = instrument->config;
    if (config->read_count == 0 || config->read_count > SOURCE_READS_MAX ||
        config->every_s < 1) {
        log_err("%s: an instrument has 1 to %d reads and an interval of at least 1 s",
                config->name, SOURCE_READS_MAX);
        return RC_BAD_INPUT;
    }
    struct plan_group *group = group_of(plan, config->unit, config->every_s);
    struct plan_item *items =
        realloc(group->items, (group->item_count + config->read_count) * sizeof *items);
    if (items == NULL)
        return RC_NOMEM;
    group->items = items;
    for (size_t i = 0; i < config->read_count; i++) {
        const struct site_read *read = &config->reads[i];
        if (read->address + decode_width(read->type) > 65536) {
            log_err("%s: address %u and its width go beyond 65535", config->name,
                    (unsigned)read->address);
            return RC_BAD_INPUT;
        }
        items[group->item_count++] = (struct plan_item){
            .read = read, .channel = instrument->channel[i], .instrument = index};
    }
    return RC_OK;
}

enum rc plan_make(const struct source_config *config, struct plan *out)
{
    struct plan plan = {.groups = calloc(config->instrument_count + 1, sizeof *plan.groups)};
    enum rc rc = plan.groups == NULL ? RC_NOMEM : RC_OK;
    for (size_t i = 0; rc == RC_OK && i < config->instrument_count; i++)
        rc = add(&plan, &config->instruments[i], i);
    for (size_t i = 0; rc == RC_OK && i < plan.group_count; i++) {
        struct plan_group *group = &plan.groups[i];
        qsort(group->items, group->item_count, sizeof *group->items, in_order);
        group->requests = calloc(group->item_count, sizeof *group->requests);
        if (group->requests == NULL)
            rc = RC_NOMEM;
        else
            group->request_count =
                gather(group, 0, group->item_count, PLAN_HOLE, group->requests);
    }
    if (rc == RC_OK)
        *out = plan;
    else
        plan_free(&plan);
    return rc;
}

void plan_free(struct plan *plan)
{
    for (size_t i = 0; i < plan->group_count; i++) {
        free(plan->groups[i].items);
        free(plan->groups[i].requests);
    }
    free(plan->groups);
    *plan = (struct plan){.groups = NULL};
}
