/* api_instruments.c - every instrument, and whether it answers. */
#include "http/handlers.h"
#include "http/view.h"
#include "recorder/live.h"

static const char *state_word(const struct live_instrument *in)
{
    if (in->quiet == GAP_NONE && in->last_s != 0)
        return "reading";
    return in->last_s == 0 ? "never" : "failing";
}

static json_t *instrument(const struct live_instrument *in)
{
    const struct site_instrument *site = in->site;
    bool quiet = in->quiet != GAP_NONE;
    json_t *row = json_object();
    json_object_set_new(row, "name", json_string(site->name));
    json_object_set_new(row, "serial", json_string(site->serial));
    json_object_set_new(row, "bus", json_string(site->bus->name));
    json_object_set_new(row, "unit", json_integer(site->unit));
    json_object_set_new(row, "zone", json_string(site->zone->name));
    json_object_set_new(row, "every_s", json_integer(site->every_s));
    json_object_set_new(row, "placement", json_string(site->placement));
    json_object_set_new(row, "quantities", view_reads(site));
    json_object_set_new(row, "state", json_string(state_word(in)));
    json_object_set_new(row, "last", view_time(in->last_s));
    json_object_set_new(row, "reason", view_text(quiet ? gap_reason_word(in->quiet) : NULL));
    json_object_set_new(row, "text",
                        quiet ? view_gap_text(in->quiet, in->detail) : json_null());
    json_object_set_new(row, "polls", json_integer((json_int_t)in->polls));
    json_object_set_new(row, "failures", json_integer((json_int_t)in->failures));
    return row;
}

void api_instruments_list(struct context *context, const struct request *request,
                          struct reply *reply)
{
    (void)request;
    json_t *list = json_array();
    for (size_t i = 0; i < live_instrument_count(context->live); i++) {
        struct live_instrument in;
        live_instrument(context->live, i, &in);
        json_array_append_new(list, instrument(&in));
    }
    json_t *all = json_object();
    json_object_set_new(all, "instruments", list);
    reply_json(reply, all);
}
