/* command.c - a person's word on an alarm, from any thread to the recorder's
 * (recorder_private.h).
 *
 * One at a time, copied into the recorder, so that whoever asked may give up: while the database
 * cannot be written there would be no end of waiting.
 */
#include "recorder/recorder_private.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>

enum {
    PATIENCE_MS = 8000 /* more than one wait for a locked database */
};

enum rc command_open(struct recorder *r)
{
    pthread_condattr_t attr;
    pthread_mutex_init(&r->lock, NULL);
    pthread_condattr_init(&attr);
    pthread_condattr_setclock(&attr, CLOCK_MONOTONIC);
    int code = pthread_cond_init(&r->answered, &attr);
    pthread_condattr_destroy(&attr);
    return code == 0 ? RC_OK : RC_NOMEM;
}

static enum rc carry_out(struct recorder *r, const struct command *c, struct tick now)
{
    enum rc rc = RC_NOT_FOUND;
    for (size_t i = 0; i < r->site->limit_count; i++) {
        const struct alarm_memory *m = &r->alarms[i];
        if (c->occurrence == 0 || m->occurrence != c->occurrence || m->state == ALARM_NORMAL)
            continue;
        enum alarm_state to;
        rc = alarm_next(m->state, c->input, m->condition, &to);
        if (rc == RC_OK) {
            judge_edge(r, i, c->input, clock_utc_s(now), (double)NAN, m->worst, 0, c->person,
                       c->reason, c->until_s);
            rc = recorder_flush(r, now);
        }
    }
    return rc;
}

void command_answer(struct recorder *r, struct tick now, enum rc refusal)
{
    pthread_mutex_lock(&r->lock);
    struct command c = r->command;
    bool asked = c.state == COMMAND_WAITS;
    if (asked)
        r->command.state = COMMAND_TAKEN;
    pthread_mutex_unlock(&r->lock);
    if (!asked)
        return;
    enum rc rc = refusal == RC_OK ? carry_out(r, &c, now) : refusal;
    pthread_mutex_lock(&r->lock);
    r->command.rc = rc;
    r->command.state = r->command.left ? COMMAND_NONE : COMMAND_DONE;
    pthread_cond_broadcast(&r->answered);
    pthread_mutex_unlock(&r->lock);
}

bool command_waits(struct recorder *r)
{
    pthread_mutex_lock(&r->lock);
    bool waits = r->command.state == COMMAND_WAITS;
    pthread_mutex_unlock(&r->lock);
    return waits;
}

/* Waits under the lock until the command's place is in a state; false when the time is over or
 * the recorder stops. */
static bool wait_for(struct recorder *r, enum command_state state, const struct timespec *until)
{
    while (r->command.state != state && !r->stop)
        if (pthread_cond_timedwait(&r->answered, &r->lock, until) == ETIMEDOUT)
            break;
    return r->command.state == state;
}

enum rc recorder_alarm(struct recorder *r, int64_t occurrence, enum alarm_input input,
                       int64_t until_s, const char *person, const char *reason)
{
    struct timespec until = clock_deadline(PATIENCE_MS);
    pthread_mutex_lock(&r->lock);
    if (r->stop || !wait_for(r, COMMAND_NONE, &until)) {
        enum rc rc = r->stop ? RC_CLOSED : RC_TIMEOUT;
        pthread_mutex_unlock(&r->lock);
        return rc;
    }
    struct command *c = &r->command;
    *c = (struct command){
        .state = COMMAND_WAITS, .occurrence = occurrence, .input = input, .until_s = until_s};
    snprintf(c->person, sizeof c->person, "%s", person == NULL ? "" : person);
    snprintf(c->reason, sizeof c->reason, "%s", reason == NULL ? "" : reason);
    queue_wake(r->queue);
    enum rc rc = RC_TIMEOUT;
    if (wait_for(r, COMMAND_DONE, &until))
        rc = c->rc;
    else if (r->stop)
        rc = RC_CLOSED;
    c->left = c->state == COMMAND_TAKEN; /* then the recorder clears the place */
    if (!c->left)
        c->state = COMMAND_NONE;
    pthread_cond_broadcast(&r->answered);
    pthread_mutex_unlock(&r->lock);
    return rc;
}
