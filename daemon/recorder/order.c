/* order.c - see order.h. */
#include "recorder/order.h"

#include "base/json.h"

static json_t *mail_server(const struct site_mail *m)
{
    static const char *const security[] = {"none", "starttls", "tls"};
    return json_pack("{s:s, s:s, s:s, s:s, s:s*, s:s*, s:s*}", "host", m->host, "port", m->port,
                     "security", security[m->security], "from", m->from, "user", m->user,
                     "password_file", m->password_file, "ca_file", m->ca_file);
}

static void where(json_t *out, const struct site *site, const struct site_recipient *to)
{
    switch (to->kind) {
    case RECIPIENT_PERSON:
        json_object_set_new(out, "deliver", json_string("mail"));
        json_object_set_new(out, "to", json_string(to->mail));
        json_object_set_new(out, "server", mail_server(&site->mail));
        return;
    case RECIPIENT_WEBHOOK:
        json_object_set_new(out, "deliver", json_string("webhook"));
        json_object_set_new(out, "url", json_string(to->url));
        if (to->secret_file != NULL)
            json_object_set_new(out, "secret_file", json_string(to->secret_file));
        return;
    case RECIPIENT_COMMAND: {
        json_t *list = json_array();
        for (const char *const *a = to->arguments; *a != NULL; a++)
            json_array_append_new(list, json_string(*a));
        json_object_set_new(out, "deliver", json_string("command"));
        json_object_set_new(out, "arguments", list);
    }
    }
}

void order_write(const struct order *order, const struct site *site,
                 const struct site_recipient *to, struct buf *out)
{
    struct buf subject = {0}, body = {0};
    message_join(order->parts, order->part_count, &subject, &body);
    json_t *json = json_pack(
        "{s:s, s:s, s:s, s:I, s:s, s:s}", "studio", site->studio, "message_id",
        order->message_id, "kind", order->kind == MESSAGE_RETURNED ? "returned" : "raised",
        "created", (json_int_t)order->created_s, "subject", subject.data, "body", body.data);
    if (json == NULL || subject.failed || body.failed) {
        out->failed = true;
    } else {
        where(json, site, to);
        json_put(out, json);
    }
    json_decref(json);
    buf_free(&subject);
    buf_free(&body);
}
