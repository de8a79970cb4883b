/* tell.c - see tell.h. */
#include "recorder/tell.h"

#include <stdio.h>
#include <string.h>

#include "base/seal.h"
#include "watch/message.h"
#include "watch/posting.h"

enum {
    TOLD_MOST = 16
};

static enum message_kind kind_of(const struct batch_alarm *a)
{
    unsigned from = a->event.from, to = a->event.to;
    if (to == ALARM_UNACKNOWLEDGED)
        return MESSAGE_RAISED;
    bool over = a->alarm.until_s != 0 && a->event.person == NULL &&
                ((from == ALARM_UNACKNOWLEDGED && to == ALARM_RETURNED) ||
                 (from == ALARM_ACKNOWLEDGED && to == ALARM_NORMAL));
    return over ? MESSAGE_RETURNED : MESSAGE_NONE;
}

/* Fixed from now on, however often it is sent: who gets it twice can see that. */
static void new_id(const struct site *site, char out[STORE_MESSAGE_ID])
{
    uint8_t random[SEAL_DIGEST];
    char hex[SEAL_HEX];
    const char *at = site->mail.from == NULL ? NULL : strchr(site->mail.from, '@');
    seal_random(random, sizeof random);
    seal_hex(random, hex);
    snprintf(out, STORE_MESSAGE_ID, "%.32s%.280s", hex, at == NULL ? "@stillroom.invalid" : at);
}

static enum rc put(struct store *store, const struct site *site, struct store_message *m)
{
    char id[STORE_MESSAGE_ID];
    enum rc rc = store_outbox_join(store, m, id, &m->due_s);
    if (rc == RC_OK && id[0] == '\0')
        new_id(site, id);
    m->message_id = id;
    if (rc == RC_OK)
        rc = store_outbox_put(store, m);
    /* News for somebody whose mail does not get through is a reason to try again now. */
    if (rc == RC_OK)
        rc = store_outbox_hurry(store, m->person, m->created_s);
    m->message_id = NULL;
    return rc;
}

static enum rc put_raised(struct store *store, const struct site *site,
                          const struct site_limit *limit, struct store_message *m)
{
    enum rc rc = RC_OK;
    int64_t due_s = m->due_s;
    for (size_t i = 0; rc == RC_OK && i < limit->tell_count; i++) {
        if (!site_reachable(site, limit->tell[i]))
            continue;
        m->person = limit->tell[i]->name;
        m->due_s = due_s;
        rc = put(store, site, m);
    }
    return rc;
}

static enum rc put_returned(struct store *store, const struct site *site,
                            struct store_message *m)
{
    char told[TOLD_MOST][STORE_NAME];
    size_t count = 0;
    int64_t due_s = m->due_s;
    enum rc rc =
        store_outbox_told(store, m->occurrence, MESSAGE_RAISED, told, TOLD_MOST, &count);
    if (rc == RC_OK)
        rc = store_outbox_withdraw(store, m->occurrence, m->created_s);
    for (size_t i = 0; rc == RC_OK && i < count; i++) {
        m->person = told[i];
        m->due_s = due_s;
        rc = put(store, site, m);
    }
    return rc;
}

static void words(const struct site *site, const struct site_limit *limit,
                  const struct batch_alarm *a, enum message_kind kind, struct buf *subject,
                  struct buf *body)
{
    const struct words_alarm alarm = {
        .limit = limit,
        .since_s = a->alarm.since_s,
        .until_s = kind == MESSAGE_RETURNED ? a->alarm.until_s : 0,
        .now = a->event.value,
        .worst = a->alarm.worst,
    };
    buf_str(subject, site->demo ? "DEMO: " : "");
    message_write(kind, &alarm, a->event.t_s, a->event.reason, subject, body);
}

enum rc tell_put(struct store *store, const struct site *site, const struct batch_alarm *a)
{
    const struct site_limit *limit = &site->limits[a->limit];
    enum message_kind kind = kind_of(a);
    if (kind == MESSAGE_NONE || limit->priority == PRIORITY_DIGEST)
        return RC_OK;
    struct buf subject = {0}, body = {0};
    words(site, limit, a, kind, &subject, &body);
    struct store_message m = {
        .occurrence = a->alarm.occurrence,
        .zone = a->event.zone,
        .kind = kind,
        .priority = limit->priority,
        .created_s = a->event.t_s,
        .due_s = posting_due_s(site, limit->priority, a->event.t_s),
        .subject = subject.data,
        .body = body.data,
    };
    enum rc rc = subject.failed || body.failed ? RC_NOMEM
                 : kind == MESSAGE_RAISED      ? put_raised(store, site, limit, &m)
                                               : put_returned(store, site, &m);
    buf_free(&subject);
    buf_free(&body);
    return rc;
}
