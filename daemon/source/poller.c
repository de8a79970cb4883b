/* poller.c - see poller.h. */
#include "source/poller.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "source/decode.h"
#include "source/plan.h"
#include "source/unit.h"

/* One group of the plan and where it stands in time. */
struct turn {
    struct plan_group *group; /* borrowed from the plan */
    struct unit *unit;        /* borrowed from the poller */
    int64_t slot_s;           /* the next slot to put */
    int64_t last_s;           /* the slot put last; INT64_MIN at first */
};

struct poller {
    const struct site_bus *bus; /* borrowed */
    struct line *line;          /* borrowed */
    struct sink *sink;          /* borrowed */
    bool clock_trusted;
    struct plan plan;   /* owned */
    struct turn *turns; /* owned; one a group */
    struct unit *units; /* owned; at most one a group */
    size_t unit_count;
    struct reading *readings; /* owned; room for the largest group */
    struct frame_answer answer;
    int64_t offset_ms;     /* UTC less monotonic, when last looked at */
    int64_t spare_mono_ms; /* no unit that fails is asked before */

    pthread_mutex_t lock;                       /* of what follows */
    struct source_unit_status *rows;            /* owned; one an instrument */
    const struct site_instrument **instruments; /* owned array of borrowed */
    size_t instrument_count;
    bool connected;
};

/* --- slots --- */

static int64_t due_ms(int64_t slot_s)
{
    return slot_s * 1000 + 500;
}

static bool is_due(const struct turn *turn, struct tick now)
{
    return now.utc_ms >= due_ms(turn->slot_s);
}

static int64_t every_ms(const struct turn *turn)
{
    return turn->group->every_s * INT64_C(1000);
}

/* The first slot of a pace whose moment is not past. */
static int64_t slot_from(int64_t utc_ms, int every_s)
{
    int64_t late_ms = utc_ms - 500; /* the slot's second must not be less than this */
    int64_t from_s = late_ms / 1000 + (late_ms % 1000 > 0 ? 1 : 0);
    int64_t rest = from_s % every_s;
    if (rest < 0)
        rest += every_s;
    return rest == 0 ? from_s : from_s + every_s - rest;
}

/* The first gap of an instrument's reads tells its state. */
static void note_status(struct poller *p, const struct plan_group *group, int64_t slot_s)
{
    pthread_mutex_lock(&p->lock);
    p->connected = line_connected(p->line);
    for (size_t i = 0; i < p->instrument_count; i++) {
        struct source_unit_status *row = &p->rows[i];
        if (p->instruments[i]->unit != group->unit ||
            p->instruments[i]->every_s != group->every_s)
            continue;
        row->last = GAP_NONE;
        row->detail = 0;
        for (size_t k = 0; k < group->item_count && row->last == GAP_NONE; k++)
            if (group->items[k].instrument == i) {
                row->last = (enum gap_reason)p->readings[k].gap;
                row->detail = p->readings[k].detail;
            }
        row->polls++;
        if (row->last != GAP_NONE)
            row->failures++;
        else
            row->last_good_s = slot_s;
    }
    pthread_mutex_unlock(&p->lock);
}

/* Gives the turn's slot what p->readings hold, and moves on to the next slot. */
static void put_slot(struct poller *p, struct turn *turn)
{
    const struct plan_group *group = turn->group;
    uint16_t flags = !p->clock_trusted && clock_kernel_unsynchronised() ? READING_CLOCK : 0;
    for (size_t i = 0; i < group->item_count; i++) {
        p->readings[i].channel = group->items[i].channel;
        p->readings[i].flags = flags;
        p->readings[i].t_s = turn->slot_s;
    }
    p->sink->put(p->sink, p->readings, (unsigned)group->item_count);
    note_status(p, group, turn->slot_s);
    turn->last_s = turn->slot_s;
    turn->slot_s += group->every_s;
}

static void fill_gaps(struct poller *p, size_t first, size_t count, enum gap_reason why,
                      uint8_t detail)
{
    for (size_t i = first; i < first + count; i++)
        p->readings[i] = (struct reading){.gap = (uint8_t)why, .detail = detail};
}

static void put_gap(struct poller *p, struct turn *turn, enum gap_reason why)
{
    fill_gaps(p, 0, turn->group->item_count, why, 0);
    put_slot(p, turn);
}

/* For a slot in which the unit was not asked: because it fails, or was a busy bus to blame? */
static void put_unasked(struct poller *p, struct turn *turn)
{
    const struct unit *unit = turn->unit;
    if (unit->fails == 0)
        fill_gaps(p, 0, turn->group->item_count, GAP_OVERRUN, 0);
    else
        fill_gaps(p, 0, turn->group->item_count, unit->last, unit->detail);
    put_slot(p, turn);
}

/* The clock was stepped: slots by the new time, and not the last one once more. */
static void realign(struct poller *p, struct tick now)
{
    for (size_t i = 0; i < p->plan.group_count; i++) {
        struct turn *turn = &p->turns[i];
        int64_t slot_s = slot_from(now.utc_ms, turn->group->every_s);
        if (slot_s > turn->slot_s)
            put_gap(p, turn, GAP_CLOCK);
        turn->slot_s = slot_s == turn->last_s ? slot_s + turn->group->every_s : slot_s;
    }
}

/* Time is UTC's, and UTC runs beside the monotonic clock but for steps. */
static void follow_clock(struct poller *p, struct tick now)
{
    int64_t offset_ms = now.utc_ms - now.mono_ms;
    int64_t step_ms = offset_ms - p->offset_ms;
    p->offset_ms = offset_ms;
    if (step_ms < POLLER_STEP_MS && step_ms > -POLLER_STEP_MS)
        return;
    log_debug("bus %s: the clock was stepped by %lld ms", p->bus->name, (long long)step_ms);
    realign(p, now);
}

/* Puts gaps for slots that are over: the next one is due already. After a very long halt only
 * the first and the newest get one. */
static void put_overrun(struct poller *p, struct turn *turn, struct tick now)
{
    int64_t over = (now.utc_ms - due_ms(turn->slot_s)) / every_ms(turn);
    if (over > POLLER_OVERRUN_MAX) {
        put_unasked(p, turn);
        turn->slot_s += (over - POLLER_OVERRUN_MAX) * turn->group->every_s;
        over = POLLER_OVERRUN_MAX - 1;
    }
    for (; over > 0; over--)
        put_unasked(p, turn);
}

/* --- asking --- */

static void take_values(struct poller *p, const struct plan_group *group,
                        const struct plan_request *request)
{
    for (size_t i = request->first; i < request->first + request->count; i++) {
        const struct site_read *read = group->items[i].read;
        const uint16_t *words = p->answer.words + (read->address - request->ask.address);
        p->readings[i] = (struct reading){.gap = GAP_NONE};
        p->readings[i].gap = (uint8_t)decode_read(read, words, &p->readings[i].value);
    }
}

/* "Illegal data address" and "illegal data value": the request may reach over a hole that the
 * unit does not have, or be longer than it allows. */
static bool too_much(const struct frame_answer *answer)
{
    return answer->gap == GAP_EXCEPTION && (answer->detail == 2 || answer->detail == 3);
}

/* A gateway's word that the unit behind it does not answer: it costs the gateway's own timeout,
 * so the unit must not be asked before those which do answer. */
static bool behind_gateway(const struct frame_answer *answer)
{
    return answer->gap == GAP_EXCEPTION && (answer->detail == 10 || answer->detail == 11);
}

static bool answered(enum gap_reason why)
{
    return why == GAP_NONE || why == GAP_EXCEPTION;
}

/* An answer on a serial line does not say to which request. After a missed one the next may
 * be late, so a question whose answer has another length must come back in step first. */
static enum gap_reason check_step(struct poller *p, struct unit *unit, int response_ms,
                                  int64_t mono_ms)
{
    if (p->bus->kind == BUS_MODBUS_TCP || !unit_in_doubt(unit, mono_ms))
        return GAP_NONE;
    struct frame_request check = plan_step_check(&p->plan, unit->number);
    line_ask(p->line, &check, response_ms, &p->answer);
    return answered(p->answer.gap) ? GAP_NONE : p->answer.gap;
}

/* Fills p->readings by asking for all of a turn. GAP_NONE if the unit answers, be it by
 * exceptions; else what is wrong, and no further request is made. */
static enum gap_reason ask_all(struct poller *p, struct turn *turn, int response_ms,
                               int64_t mono_ms)
{
    struct plan_group *group = turn->group;
    enum gap_reason lost = check_step(p, turn->unit, response_ms, mono_ms);
    fill_gaps(p, 0, group->item_count, lost, 0);
    for (size_t i = 0; i < group->request_count && lost == GAP_NONE;) {
        const struct plan_request request = group->requests[i];
        line_ask(p->line, &request.ask, response_ms, &p->answer);
        if (too_much(&p->answer) && plan_split(group, i))
            continue;
        if (p->answer.gap == GAP_NONE)
            take_values(p, group, &request);
        else if (p->answer.gap == GAP_EXCEPTION && !behind_gateway(&p->answer))
            fill_gaps(p, request.first, request.count, GAP_EXCEPTION, p->answer.detail);
        else
            lost = p->answer.gap;
        if (lost != GAP_NONE)
            fill_gaps(p, request.first, group->item_count - request.first, lost,
                      p->answer.detail);
        i++;
    }
    return lost;
}

static void ask(struct poller *p, struct turn *turn, int response_ms, struct tick now)
{
    enum gap_reason why = GAP_NONE;
    bool ready = line_ready(p->line, &why);
    if (ready)
        why = ask_all(p, turn, response_ms, now.mono_ms);
    if (why == GAP_STOPPED) /* nothing is known of this slot, so nothing is said */
        return;
    if (!ready) {
        put_gap(p, turn, why);
        return;
    }
    if (why == GAP_NONE)
        unit_answered(turn->unit, now.mono_ms);
    else if (why != GAP_NO_DEVICE) /* that is the bus's trouble, not the unit's */
        unit_failed(turn->unit, why, p->answer.detail, every_ms(turn), now.mono_ms);
    put_slot(p, turn);
}

/* --- whose turn it is --- */

/* Time until the next slot of a unit that answers. */
static int64_t free_ms(const struct poller *p, struct tick now)
{
    int64_t least = INT64_MAX;
    for (size_t i = 0; i < p->plan.group_count; i++) {
        int64_t left = due_ms(p->turns[i].slot_s) - now.utc_ms;
        if (unit_is_good(p->turns[i].unit) && left < least)
            least = left;
    }
    return least;
}

/* How long to wait for a unit that may well not answer; 0: not now. */
static int patience_ms(const struct poller *p, const struct unit *unit, struct tick now)
{
    int response = p->bus->response_ms;
    int64_t free = free_ms(p, now);
    int64_t most = free - line_quiet_ms(p->line);
    if (free == INT64_MAX || most >= response ||
        now.mono_ms - unit->asked_ms > UNIT_REST_MAX_MS)
        return response;
    return most >= 50 && most >= response / 2 ? (int)most : 0;
}

/* The due turn that comes first: units that answer, then the others by their failures. */
static struct turn *choose(const struct poller *p, struct tick now)
{
    struct turn *best = NULL;
    for (size_t i = 0; i < p->plan.group_count; i++) {
        struct turn *turn = &p->turns[i];
        if (!is_due(turn, now))
            continue;
        if (best == NULL || (unit_is_good(turn->unit) && !unit_is_good(best->unit)) ||
            (unit_is_good(turn->unit) == unit_is_good(best->unit) &&
             (turn->unit->fails < best->unit->fails ||
              (turn->unit->fails == best->unit->fails && turn->slot_s < best->slot_s))))
            best = turn;
    }
    return best;
}

/* When to look again: at the next slot, at the end of a slot in which a unit still waits to be
 * asked, and when units that fail may be asked again. */
static int64_t next_ms(const struct poller *p, struct tick now)
{
    int64_t next = INT64_MAX;
    for (size_t i = 0; i < p->plan.group_count; i++) {
        const struct turn *turn = &p->turns[i];
        int64_t left = due_ms(turn->slot_s) - now.utc_ms;
        int64_t at = now.mono_ms + (left > 0 ? left : left + every_ms(turn));
        if (left <= 0 && p->spare_mono_ms > now.mono_ms && p->spare_mono_ms < at)
            at = p->spare_mono_ms;
        if (at < next)
            next = at;
    }
    return next;
}

int64_t poller_step(struct poller *p, struct tick now)
{
    follow_clock(p, now);
    for (size_t i = 0; i < p->plan.group_count; i++) {
        put_overrun(p, &p->turns[i], now);
        if (is_due(&p->turns[i], now) && unit_is_resting(p->turns[i].unit, now.mono_ms))
            put_unasked(p, &p->turns[i]);
    }
    struct turn *turn = choose(p, now);
    if (turn == NULL)
        return next_ms(p, now);
    if (unit_is_good(turn->unit)) {
        ask(p, turn, p->bus->response_ms, now);
        return now.mono_ms;
    }
    int patience = turn->unit->fails > 0 && now.mono_ms < p->spare_mono_ms
                       ? 0
                       : patience_ms(p, turn->unit, now);
    if (patience == 0)
        return next_ms(p, now);
    ask(p, turn, patience, now);
    /* At most half of the time that is left goes to units that fail. */
    if (turn->unit->fails > 0)
        p->spare_mono_ms = now.mono_ms + 2 * (patience + line_quiet_ms(p->line));
    return now.mono_ms;
}

/* --- life --- */

static struct unit *unit_of(struct poller *p, const struct plan_group *group, int64_t mono_ms)
{
    for (size_t i = 0; i < p->unit_count; i++)
        if (p->units[i].number == group->unit)
            return &p->units[i];
    struct unit *unit = &p->units[p->unit_count++];
    *unit = (struct unit){.bus = p->bus->name,
                          .number = group->unit,
                          .name = p->instruments[group->items[0].instrument]->name,
                          .last = GAP_NEVER_READ,
                          .asked_ms = mono_ms};
    return unit;
}

static void make_turns(struct poller *p, struct tick now)
{
    for (size_t i = 0; i < p->plan.group_count; i++) {
        struct plan_group *group = &p->plan.groups[i];
        p->turns[i] = (struct turn){.group = group,
                                    .unit = unit_of(p, group, now.mono_ms),
                                    .slot_s = slot_from(now.utc_ms, group->every_s),
                                    .last_s = INT64_MIN};
    }
}

static enum rc make_rows(struct poller *p, const struct source_config *config)
{
    p->rows = calloc(config->instrument_count + 1, sizeof *p->rows);
    p->instruments = calloc(config->instrument_count + 1, sizeof *p->instruments);
    if (p->rows == NULL || p->instruments == NULL)
        return RC_NOMEM;
    p->instrument_count = config->instrument_count;
    for (size_t i = 0; i < config->instrument_count; i++) {
        p->instruments[i] = config->instruments[i].config;
        p->rows[i] = (struct source_unit_status){.instrument = p->instruments[i]->name,
                                                 .last = GAP_NEVER_READ};
    }
    return RC_OK;
}

enum rc poller_new(const struct source_config *config, struct line *line, struct sink *sink,
                   struct tick now, struct poller **out)
{
    struct poller *p = calloc(1, sizeof *p);
    if (p == NULL)
        return RC_NOMEM;
    pthread_mutex_init(&p->lock, NULL);
    p->bus = config->bus;
    p->line = line;
    p->sink = sink;
    p->clock_trusted = config->clock_trusted;
    p->offset_ms = now.utc_ms - now.mono_ms;
    enum rc rc = make_rows(p, config);
    if (rc == RC_OK)
        rc = plan_make(config, &p->plan);
    if (rc != RC_OK)
        goto fail;
    size_t most = 1;
    for (size_t i = 0; i < p->plan.group_count; i++)
        if (p->plan.groups[i].item_count > most)
            most = p->plan.groups[i].item_count;
    p->turns = calloc(p->plan.group_count + 1, sizeof *p->turns);
    p->units = calloc(p->plan.group_count + 1, sizeof *p->units);
    p->readings = calloc(most, sizeof *p->readings);
    rc = RC_NOMEM;
    if (p->turns == NULL || p->units == NULL || p->readings == NULL)
        goto fail;
    make_turns(p, now);
    *out = p;
    return RC_OK;
fail:
    poller_free(p);
    return rc;
}

void poller_free(struct poller *p)
{
    if (p == NULL)
        return;
    plan_free(&p->plan);
    pthread_mutex_destroy(&p->lock);
    free(p->turns);
    free(p->units);
    free(p->readings);
    free(p->rows);
    free(p->instruments);
    free(p);
}

void poller_status(struct poller *p, struct source_status *out)
{
    size_t most = sizeof out->units / sizeof *out->units;
    out->bus = p->bus->name;
    pthread_mutex_lock(&p->lock);
    out->connected = p->connected;
    out->unit_count = p->instrument_count < most ? p->instrument_count : most;
    memcpy(out->units, p->rows, out->unit_count * sizeof *out->units);
    pthread_mutex_unlock(&p->lock);
}
