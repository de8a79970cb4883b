/* notify.c - messages on their way (recorder_private.h).
 *
 * The outbox says what waits; one message at a time goes to each recipient, oldest first, so
 * that "over" never comes before what it ends. A message is written off only once the other
 * side has taken it: a kill in between sends it again, under the same Message-ID.
 */
#include "recorder/recorder_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "recorder/order.h"
#include "watch/posting.h"

enum {
    LOOK_MS = 1000,
    WRITE_AGAIN_MS = 5000, /* how soon an outcome that could not be written is tried again */
    PATIENCE_MS = 60000,   /* with a child that does not end */
    FINISH_MS = 10000,     /* when we stop */
    FINISH_STEP_MS = 20,
    MONTH_S = 30 * 86400
};

/* -- choosing -- */

struct choosing {
    struct recorder *r;
    int64_t now_s;
    bool *blocked;                /* by an older one that failed, a recipient each */
    char stray[STORE_MESSAGE_ID]; /* to somebody who is not in the site file any more */
};

static bool choose(void *context, const struct store_message *m)
{
    struct choosing *c = context;
    const struct site *site = c->r->site;
    const struct site_recipient *to = site_recipient(site, m->person);
    if (to == NULL || !site_reachable(site, to)) {
        if (c->stray[0] == '\0')
            snprintf(c->stray, sizeof c->stray, "%s", m->message_id);
        return true;
    }
    size_t i = (size_t)(to - site->recipients);
    struct notify_slot *slot = &c->r->slots[i];
    /* Due in more than eight days: written when the clock was wrong. */
    bool due = m->due_s <= c->now_s || m->due_s > c->now_s + POSTING_WEEK_S + CLOCK_DAY_S;
    if (slot->chosen || c->blocked[i])
        return true;
    if (due) {
        slot->chosen = true;
        slot->created_s = m->created_s;
        slot->tries = m->tries;
        snprintf(slot->message_id, sizeof slot->message_id, "%s", m->message_id);
    } else if (m->tries > 0 && !m->refused) {
        c->blocked[i] = true;
    }
    return true;
}

/* -- starting -- */

struct parts {
    struct message_part *list; /* owned, as its texts */
    size_t count;
    unsigned kind;
    bool failed;
};

static bool add_part(void *context, const struct store_message *m)
{
    struct parts *p = context;
    struct message_part *more = realloc(p->list, (p->count + 1) * sizeof *more);
    if (more != NULL)
        p->list = more;
    char *subject = strdup(m->subject), *body = strdup(m->body);
    if (more == NULL || subject == NULL || body == NULL) {
        free(subject);
        free(body);
        p->failed = true;
        return false;
    }
    p->list[p->count++] = (struct message_part){
        .priority = (enum site_priority)m->priority, .subject = subject, .body = body};
    p->kind = m->kind;
    return true;
}

static void free_parts(struct parts *p)
{
    for (size_t i = 0; i < p->count; i++) {
        /* Ours since strdup; const for those who read them. */
        free((char *)(uintptr_t)p->list[i].subject);
        free((char *)(uintptr_t)p->list[i].body);
    }
    free(p->list);
}

static void start(struct recorder *r, size_t recipient, struct tick now)
{
    struct notify_slot *slot = &r->slots[recipient];
    struct parts parts = {0};
    struct buf order = {0};
    enum rc rc = store_outbox_parts(r->store, slot->message_id, add_part, &parts);
    if (rc == RC_OK && !parts.failed) {
        const struct order o = {.message_id = slot->message_id,
                                .created_s = slot->created_s,
                                .kind = (enum message_kind)parts.kind,
                                .parts = parts.list,
                                .part_count = parts.count};
        order_write(&o, r->site, &r->site->recipients[recipient], &order);
    }
    if (rc == RC_OK && (parts.failed || order.failed))
        rc = RC_NOMEM;
    if (rc == RC_OK)
        rc = r->cfg.courier->start(r->cfg.courier, order.data, order.len, &slot->errand);
    slot->started_ms = now.mono_ms;
    if (rc != RC_OK) {
        slot->errand = NULL;
        slot->answered = true;
        slot->answer = COURIER_LATER;
        snprintf(slot->error, sizeof slot->error, "not sent: %s", rc_text(rc));
    }
    buf_free(&order);
    free_parts(&parts);
}

static void look_for_work(struct recorder *r, struct tick now)
{
    struct choosing c = {.r = r, .now_s = clock_utc_s(now)};
    c.blocked = calloc(r->site->recipient_count + 1, sizeof *c.blocked);
    if (c.blocked == NULL)
        return;
    enum rc rc = store_outbox_waiting(r->store, choose, &c);
    free(c.blocked);
    if (rc == RC_OK && c.stray[0] != '\0') {
        log_warn("a message waited for somebody whom the site file no longer tells: dropped");
        rc = store_outbox_give_up(r->store, c.stray, c.now_s, "no longer in the site file");
    }
    if (rc != RC_OK)
        log_warn("the outbox could not be read (%s)", rc_text(rc));
    for (size_t i = 0; i < r->site->recipient_count; i++)
        if (r->slots[i].chosen && r->slots[i].errand == NULL && !r->slots[i].answered)
            start(r, i, now);
}

/* -- what became of it -- */

static void say(struct recorder *r, size_t recipient, bool lost)
{
    struct notify_slot *slot = &r->slots[recipient];
    const char *name = r->site->recipients[recipient].name;
    bool taken = slot->answer == COURIER_TAKEN;
    if (lost)
        log_err("a message to %s was given up after a week: %s", name, slot->error);
    else if (!taken && !slot->failing)
        log_warn("a message to %s did not get through (%s); it is tried again for a week", name,
                 slot->error[0] == '\0' ? "no reason given" : slot->error);
    else if (taken && slot->failing)
        log_info("messages to %s get through again", name);
    slot->failing = !taken;
}

static enum rc write_outcome(struct recorder *r, struct notify_slot *slot, int64_t now_s,
                             bool *lost)
{
    bool refused = slot->answer == COURIER_REFUSED;
    int64_t due_s;
    *lost = false;
    if (slot->answer == COURIER_TAKEN)
        return store_outbox_sent(r->store, slot->message_id, now_s);
    if (posting_again_s(slot->created_s, slot->tries + 1, refused, now_s, &due_s))
        return store_outbox_failed(r->store, slot->message_id, due_s, refused, slot->error);
    *lost = true;
    return store_outbox_give_up(r->store, slot->message_id, now_s, slot->error);
}

static void settle(struct recorder *r, size_t recipient, struct tick now)
{
    struct notify_slot *slot = &r->slots[recipient];
    bool lost;
    if (now.mono_ms < slot->retry_ms)
        return;
    if (write_outcome(r, slot, clock_utc_s(now), &lost) != RC_OK) {
        slot->retry_ms = now.mono_ms + WRITE_AGAIN_MS;
        return;
    }
    say(r, recipient, lost);
    slot->chosen = slot->answered = false;
    slot->retry_ms = 0;
    r->outbox_changed = true;
}

static void attend(struct recorder *r, size_t recipient, struct tick now)
{
    struct notify_slot *slot = &r->slots[recipient];
    if (slot->errand != NULL) {
        slot->answer = r->cfg.courier->look(slot->errand, slot->error);
        if (slot->answer == COURIER_RUNS && now.mono_ms - slot->started_ms < PATIENCE_MS)
            return;
        if (slot->answer == COURIER_RUNS) {
            slot->answer = COURIER_LATER;
            snprintf(slot->error, sizeof slot->error, "no end after %d s", PATIENCE_MS / 1000);
        }
        r->cfg.courier->end(slot->errand);
        slot->errand = NULL;
        slot->answered = true;
    }
    if (slot->answered)
        settle(r, recipient, now);
}

static void show_counts(struct recorder *r, int64_t now_s)
{
    struct live_status *s = live_status_draft(r->live);
    int64_t waiting = 0, given_up = 0;
    if (store_outbox_count(r->store, now_s - MONTH_S, &waiting, &given_up) != RC_OK ||
        (s->messages_waiting == (uint64_t)waiting &&
         s->messages_given_up == (uint64_t)given_up))
        return;
    live_begin(r->live);
    s->messages_waiting = (uint64_t)waiting;
    s->messages_given_up = (uint64_t)given_up;
    live_end(r->live);
}

/* -- the recorder's side -- */

enum rc notify_open(struct recorder *r, int64_t now_s)
{
    bool mute = false;
    r->slots = calloc(r->site->recipient_count + 1, sizeof *r->slots);
    if (r->slots == NULL)
        return RC_NOMEM;
    r->outbox_changed = true;
    if (r->cfg.courier == NULL)
        return RC_OK;
    for (size_t i = 0; i < r->site->recipient_count; i++)
        mute = mute || (r->site->recipients[i].mail != NULL && r->site->mail.host == NULL);
    if (mute)
        log_warn("persons have mail addresses, but there is no [mail] section with a server: "
                 "no mail is sent");
    /* Who starts the daemon anew may have mended what was in the way. */
    if (store_outbox_hurry(r->store, NULL, now_s) != RC_OK)
        log_warn("messages that failed before wait for their next try");
    return RC_OK;
}

void notify_step(struct recorder *r, struct tick now)
{
    for (size_t i = 0; r->cfg.courier != NULL && i < r->site->recipient_count; i++)
        attend(r, i, now);
    bool waiting = live_status_draft(r->live)->messages_waiting > 0;
    if (!r->outbox_changed && (!waiting || now.mono_ms - r->outbox_looked_ms < LOOK_MS))
        return;
    bool changed = r->outbox_changed;
    r->outbox_changed = false;
    r->outbox_looked_ms = now.mono_ms;
    if (r->cfg.courier != NULL && live_status_draft(r->live)->clock != LIVE_CLOCK_IMPLAUSIBLE)
        look_for_work(r, now);
    if (changed)
        show_counts(r, clock_utc_s(now));
}

/* Something that the other side may have taken already is not cut off at once. */
void notify_finish(struct recorder *r)
{
    int64_t end_ms = clock_now().mono_ms + FINISH_MS;
    for (;;) {
        struct tick now = clock_now();
        bool runs = false;
        for (size_t i = 0; r->cfg.courier != NULL && i < r->site->recipient_count; i++) {
            attend(r, i, now);
            runs = runs || r->slots[i].errand != NULL;
        }
        if (!runs || now.mono_ms >= end_ms)
            return;
        clock_sleep_ms(FINISH_STEP_MS);
    }
}

void notify_close(struct recorder *r)
{
    for (size_t i = 0; r->slots != NULL && i < r->site->recipient_count; i++)
        if (r->slots[i].errand != NULL)
            r->cfg.courier->end(r->slots[i].errand);
    free(r->slots);
    r->slots = NULL;
}
