/* api_studio.c - the studio as a whole, and whether its readings are recorded. */
#include <string.h>

#include "base/clock.h"
#include "http/handlers.h"
#include "http/view.h"
#include "recorder/live.h"

static const char *clock_word(const struct live_status *status)
{
    if (status->clock == LIVE_CLOCK_GOOD)
        return "good";
    return status->clock == LIVE_CLOCK_TRUSTED ? "trusted" : "unsynchronised";
}

static json_t *recording(const struct live_status *status)
{
    json_t *r = json_object();
    json_object_set_new(r, "state",
                        json_string(status->writing ? "recording" : "cannot_write"));
    json_object_set_new(
        r, "detail", status->writing ? json_null() : json_string(rc_text(status->write_error)));
    json_object_set_new(r, "last_commit", view_time(status->last_commit_s));
    json_object_set_new(r, "since", json_integer(status->started_s));
    json_object_set_new(r, "queue", json_integer((json_int_t)status->queued));
    return r;
}

/* Alarms on their way to people; what a week of tries did not deliver, of the last month. */
static json_t *messages(const struct live_status *status)
{
    return json_pack("{s:I, s:I}", "waiting", (json_int_t)status->messages_waiting, "given_up",
                     (json_int_t)status->messages_given_up);
}

void api_studio_get(struct context *context, const struct request *request, struct reply *reply)
{
    (void)request;
    const struct site *site = context->site;
    struct live_status status;
    live_status(context->live, &status);
    char day[16] = "";
    if (status.last_signed_day >= 0)
        clock_day_text(status.last_signed_day, day, sizeof day);

    json_t *s = json_object();
    json_object_set_new(s, "name", json_string(site->studio));
    json_object_set_new(s, "timezone", json_string(site->timezone));
    json_object_set_new(s, "demo", json_boolean(site->demo));
    json_object_set_new(s, "version", json_string(context->version));
    json_object_set_new(s, "now", json_integer(clock_utc_s(clock_now())));
    json_object_set_new(s, "altitude_m", json_real(site->altitude_m));
    json_object_set_new(s, "clock", json_string(clock_word(&status)));
    json_object_set_new(s, "recording", recording(&status));
    json_object_set_new(s, "sensors", json_integer((json_int_t)site->instrument_count));
    json_object_set_new(s, "signed_days", json_integer((json_int_t)status.signed_days));
    json_object_set_new(s, "last_signed_day", view_text(day));
    json_object_set_new(s, "messages", messages(&status));
    json_object_set_new(s, "key", json_string(status.key_id));
    reply_json(reply, s);
}

void api_studio_health(struct context *context, const struct request *request,
                       struct reply *reply)
{
    (void)request;
    struct live_status status;
    live_status(context->live, &status);
    const char *wrong = NULL;
    if (!status.writing)
        wrong = rc_text(status.write_error);
    else if (status.clock == LIVE_CLOCK_IMPLAUSIBLE)
        wrong = "the clock shows a date that cannot be; set it";

    json_t *health = json_object();
    json_object_set_new(health, "status", json_string(wrong == NULL ? "ok" : "degraded"));
    json_object_set_new(health, "detail", view_text(wrong));
    reply_json(reply, health);
    if (wrong != NULL && reply->status == 200)
        reply->status = 503;
}
