/* server.c - see server.h. The only file that knows libmicrohttpd.
 *
 * One thread a connection, each waiting in poll. A request is looked at when its headers are
 * complete, and answered when its body, which nothing here needs, has been read and dropped.
 */
#include "http/server.h"

#include <microhttpd.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/log.h"
#include "http/context.h"
#include "http/events.h"
#include "http/facts.h"
#include "http/fitness.h"
#include "http/guard.h"
#include "http/host.h"
#include "http/listen.h"
#include "http/openapi.h"
#include "http/pages.h"
#include "http/pool.h"
#include "http/reply.h"
#include "http/request.h"
#include "http/routes.h"
#include "recorder/live.h"
#include "site/site.h"

enum {
    STACK_BYTES = 256 * 1024,
    HEADER_BYTES_MOST = 16 * 1024, /* libmicrohttpd answers 431 to more */
    IDLE_S = 60,                   /* without a byte moving in either direction */
    STREAM_BLOCK_BYTES = 4096
};

struct http {
    struct context context;
    struct MHD_Daemon *daemon; /* owned */
    uint16_t port;
};

/* One request on its way. Made when its target is read, freed when it is done. */
struct exchange {
    bool begun;
    size_t body_len; /* read and dropped so far */
    struct request request;
    char *query; /* in target; NULL if there is none */
    char target[];
};

/* An event stream and the place it takes. */
struct carried {
    struct guard *guard;   /* borrowed */
    struct stream *stream; /* owned */
};

static void *on_target(void *cls, const char *uri, struct MHD_Connection *connection)
{
    (void)cls;
    (void)connection;
    size_t size = strlen(uri) + 1;
    struct exchange *e = calloc(1, sizeof *e + size);
    if (e == NULL)
        return NULL;
    memcpy(e->target, uri, size);
    char *mark = strchr(e->target, '?');
    if (mark != NULL) {
        *mark = '\0';
        e->query = mark + 1;
    }
    e->request.path = e->target;
    return e;
}

static struct guard_slot *slot_of(struct MHD_Connection *connection)
{
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_SOCKET_CONTEXT);
    return info != NULL ? info->socket_context : NULL;
}

static void on_connection(void *cls, struct MHD_Connection *connection, void **socket_context,
                          enum MHD_ConnectionNotificationCode code)
{
    struct http *http = cls;
    if (code == MHD_CONNECTION_NOTIFY_CLOSED) {
        guard_drop(http->context.guard, *socket_context);
        *socket_context = NULL;
        return;
    }
    const union MHD_ConnectionInfo *info =
        MHD_get_connection_info(connection, MHD_CONNECTION_INFO_CONNECTION_FD);
    if (info != NULL)
        *socket_context = guard_accept(http->context.guard, info->connect_fd);
}

static void on_completed(void *cls, struct MHD_Connection *connection, void **request_context,
                         enum MHD_RequestTerminationCode code)
{
    (void)code;
    struct http *http = cls;
    struct exchange *e = *request_context;
    if (e != NULL)
        query_free(&e->request.query);
    free(e);
    *request_context = NULL;
    guard_waiting(http->context.guard, slot_of(connection));
}

struct host_count {
    int count;
    const char *value;
};

static enum MHD_Result count_host(void *cls, enum MHD_ValueKind kind, const char *key,
                                  const char *value)
{
    (void)kind;
    struct host_count *hosts = cls;
    bool is_host = (key[0] | 0x20) == 'h' && (key[1] | 0x20) == 'o' && (key[2] | 0x20) == 's' &&
                   (key[3] | 0x20) == 't' && key[4] == '\0';
    if (is_host) {
        hosts->count++;
        hosts->value = value;
    }
    return MHD_YES;
}

/* False after the reply has said what is wrong. */
static bool check_host(const struct context *context, struct MHD_Connection *connection,
                       struct reply *reply)
{
    struct host_count hosts = {0};
    MHD_get_connection_values(connection, MHD_HEADER_KIND, count_host, &hosts);
    if (hosts.count != 1 || hosts.value == NULL) {
        reply_problem(reply, 400, "a request must have exactly one Host header");
        return false;
    }
    if (!host_is_ours(hosts.value, context->site->http_host, context->site->http_names)) {
        reply_problem(reply, 421,
                      "this server does not answer under that name; names it may have are "
                      "listed in the site file under [http] names");
        return false;
    }
    return true;
}

static bool check_query(const struct route *route, struct exchange *e, struct reply *reply)
{
    struct query *query = &e->request.query;
    enum rc rc = query_parse(e->query, query);
    if (rc != RC_OK) {
        reply_problem(reply, rc == RC_BAD_INPUT ? 400 : 500, "%s",
                      rc == RC_BAD_INPUT ? query_rules : rc_text(rc));
        return false;
    }
    for (size_t i = 0; i < query->count; i++) {
        const struct route_parameter *p = route->parameters;
        while (p->name != NULL && strcmp(p->name, query->items[i].name) != 0)
            p++;
        if (p->name != NULL)
            continue;
        struct buf names = {0};
        for (p = route->parameters; p->name != NULL; p++)
            buf_printf(&names, "%s%s", names.len == 0 ? "" : ", ", p->name);
        reply_problem(reply, 400, "there is no parameter '%.40s' here; allowed: %s",
                      query->items[i].name, names.len > 0 ? names.data : "none");
        buf_free(&names);
        return false;
    }
    return true;
}

static void refuse_method(struct reply *reply)
{
    reply_problem(reply, 405, "only GET and HEAD are served here");
    reply->allow = "GET, HEAD";
}

static void find_answer(struct context *context, struct MHD_Connection *connection,
                        const char *method, struct exchange *e, struct reply *reply)
{
    struct request *request = &e->request;
    if (!check_host(context, connection, reply))
        return;
    if (e->target[0] != '/') {
        reply_problem(reply, 400, "a request's target must begin with a slash");
        return;
    }
    bool known = false;
    const struct route *route =
        routes_find(method, request->path, request->id, sizeof request->id, &known);
    if (route != NULL) {
        if (check_query(route, e, reply))
            route->handle(context, request, reply);
    } else if (known) {
        refuse_method(reply);
    } else if (!pages_have(request->path)) {
        reply_problem(reply, 404, "nothing is served under this path");
    } else if (strcmp(method, "GET") != 0 && strcmp(method, "HEAD") != 0) {
        refuse_method(reply);
    } else {
        pages_get(request, reply);
    }
}

static ssize_t carry(void *cls, uint64_t position, char *to, size_t size)
{
    (void)position;
    struct carried *carried = cls;
    ssize_t n = events_read(carried->stream, to, size);
    return n < 0 ? MHD_CONTENT_READER_END_OF_STREAM : n;
}

static void carried_free(void *cls)
{
    struct carried *carried = cls;
    events_close(carried->stream);
    guard_stream_end(carried->guard);
    free(carried);
}

/* A response that streams, or NULL after the reply has said why not. */
static struct MHD_Response *
stream_response(struct context *context, struct MHD_Connection *connection, struct reply *reply)
{
    if (!guard_stream_begin(context->guard, slot_of(connection))) {
        reply_problem(reply, 503, "there are %d event streams open, the most there may be",
                      GUARD_STREAMS_MOST);
        return NULL;
    }
    struct carried *carried = calloc(1, sizeof *carried);
    if (carried == NULL || events_open(context, &carried->stream) != RC_OK) {
        free(carried);
        guard_stream_end(context->guard);
        reply_problem(reply, 500, "out of memory");
        return NULL;
    }
    carried->guard = context->guard;
    struct MHD_Response *response = MHD_create_response_from_callback(
        MHD_SIZE_UNKNOWN, STREAM_BLOCK_BYTES, carry, carried, carried_free);
    if (response == NULL) {
        carried_free(carried);
        reply_problem(reply, 500, "out of memory");
    }
    return response;
}

/* Takes the reply's body. */
static struct MHD_Response *body_response(struct reply *reply)
{
    if (reply->fixed != NULL) {
        /* The library only reads there; its prototype of this age does not say so. */
        void *fixed = (void *)(uintptr_t)reply->fixed;
        return MHD_create_response_from_buffer(reply->fixed_len, fixed, MHD_RESPMEM_PERSISTENT);
    }
    struct buf body = reply->body;
    reply->body = (struct buf){0};
    struct MHD_Response *response =
        MHD_create_response_from_buffer_with_free_callback(body.len, body.data, free);
    if (response == NULL)
        free(body.data);
    return response;
}

static void add_headers(struct MHD_Response *response, const struct reply *reply)
{
    static const char csp[] =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
        "font-src 'self'; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
        "form-action 'self'; frame-ancestors 'none'";
    char retry_after[16] = "";
    if (reply->retry_after_s > 0)
        snprintf(retry_after, sizeof retry_after, "%d", reply->retry_after_s);
    const struct {
        const char *name, *value;
    } rows[] = {
        {"Content-Type", reply->type},
        {"Cache-Control", reply->cache},
        {"Content-Encoding", reply->encoding},
        {"Vary", reply->encoding != NULL ? "Accept-Encoding" : NULL},
        {"ETag", reply->etag},
        {"Allow", reply->allow},
        {"Retry-After", retry_after[0] != '\0' ? retry_after : NULL},
        {"Content-Security-Policy", csp},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        if (rows[i].value != NULL)
            MHD_add_response_header(response, rows[i].name, rows[i].value);
}

static enum MHD_Result send_reply(struct http *http, struct MHD_Connection *connection,
                                  struct reply *reply)
{
    struct context *context = &http->context;
    struct MHD_Response *response = NULL;
    if (reply->stream)
        response = stream_response(context, connection, reply);
    if (response == NULL)
        response = body_response(reply);
    if (response == NULL)
        return MHD_NO;
    add_headers(response, reply);
    unsigned int status = (unsigned int)reply->status;
    if (status / 100 < sizeof context->answered / sizeof context->answered[0])
        atomic_fetch_add(&context->answered[status / 100], 1);
    enum MHD_Result result = MHD_queue_response(connection, status, response);
    MHD_destroy_response(response);
    return result;
}

/* What can be refused before a body is read: 0 if nothing. */
static bool refuse_early(struct MHD_Connection *connection, const struct exchange *e,
                         struct reply *reply)
{
    const char *length =
        MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Content-Length");
    const char *coding =
        MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Transfer-Encoding");
    size_t target_len = strlen(e->target) + (e->query != NULL ? strlen(e->query) + 1 : 0);
    int64_t body_len = 0;
    if (target_len > REQUEST_TARGET_MOST)
        reply_problem(reply, 414, "a request's target may have %d bytes", REQUEST_TARGET_MOST);
    else if (coding != NULL)
        reply_problem(reply, 411, "a request's body must come with its Content-Length");
    else if (length != NULL && !query_int(length, 0, REQUEST_BODY_MOST, &body_len))
        reply_problem(reply, 413, "a request's body may have %d bytes", REQUEST_BODY_MOST);
    else
        return false;
    return true;
}

static enum MHD_Result on_request(void *cls, struct MHD_Connection *connection, const char *url,
                                  const char *method, const char *version,
                                  const char *upload_data, size_t *upload_data_size,
                                  void **request_context)
{
    (void)url;
    (void)version;
    (void)upload_data;
    struct http *http = cls;
    struct exchange *e = *request_context;
    if (e == NULL)
        return MHD_NO;
    struct reply reply = {0};
    if (!e->begun) {
        e->begun = true;
        guard_answering(http->context.guard, slot_of(connection));
        if (!refuse_early(connection, e, &reply))
            return MHD_YES;
    } else if (*upload_data_size > 0) {
        e->body_len += *upload_data_size;
        *upload_data_size = 0;
        return e->body_len <= REQUEST_BODY_MOST ? MHD_YES : MHD_NO;
    } else {
        e->request.accept_encoding =
            MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "Accept-Encoding");
        e->request.if_none_match =
            MHD_lookup_connection_value(connection, MHD_HEADER_KIND, "If-None-Match");
        find_answer(&http->context, connection, method, e, &reply);
    }
    enum MHD_Result result = send_reply(http, connection, &reply);
    reply_free(&reply);
    return result;
}

static enum rc open_parts(struct context *context, const struct http_config *config)
{
    context->site = config->site;
    context->live = config->live;
    snprintf(context->version, sizeof context->version, "%s", config->version);
    enum rc rc = openapi_write(context->version, &context->openapi);
    if (rc == RC_OK)
        rc = pool_open(config->store_path, &context->pool);
    if (rc == RC_OK)
        rc = facts_open(live_zone_count(config->live), &context->facts);
    if (rc == RC_OK)
        rc = fitness_open(live_zone_count(config->live), &context->fitness);
    if (rc == RC_OK)
        rc = events_feed_open(&context->feed);
    if (rc == RC_OK)
        rc = guard_open(&context->guard);
    if (rc != RC_OK)
        log_err("cannot start the web server: %s", rc_text(rc));
    return rc;
}

static enum rc start_daemon(struct http *http, int fd)
{
    http->daemon = MHD_start_daemon(
        MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION | MHD_USE_POLL |
            MHD_USE_ITC,
        0, NULL, NULL, on_request, http, MHD_OPTION_LISTEN_SOCKET, fd,
        MHD_OPTION_CONNECTION_LIMIT, (unsigned int)GUARD_CONNECTIONS_MOST,
        MHD_OPTION_CONNECTION_TIMEOUT, (unsigned int)IDLE_S, MHD_OPTION_CONNECTION_MEMORY_LIMIT,
        (size_t)HEADER_BYTES_MOST, MHD_OPTION_THREAD_STACK_SIZE, (size_t)STACK_BYTES,
        MHD_OPTION_STRICT_FOR_CLIENT, 1, MHD_OPTION_URI_LOG_CALLBACK, on_target, http,
        MHD_OPTION_NOTIFY_COMPLETED, on_completed, http, MHD_OPTION_NOTIFY_CONNECTION,
        on_connection, http, MHD_OPTION_END);
    if (http->daemon != NULL)
        return RC_OK;
    /* The socket is the library's from here on, also when it fails. */
    log_err("cannot start the web server: libmicrohttpd refused");
    return RC_IO;
}

enum rc http_start(const struct http_config *config, struct http **out)
{
    const struct site *site = config->site;
    if (site->http_off) {
        *out = NULL;
        return RC_OK;
    }
    if (site->behind_proxy) {
        log_err("[http] behind_proxy = yes is not served by this version: only this machine's "
                "own browsers are (leave it out)");
        return RC_BAD_INPUT;
    }
    struct http *http = calloc(1, sizeof *http);
    if (http == NULL)
        return RC_NOMEM;
    int fd = -1;
    enum rc rc = listen_open(site->http_host, site->http_port, &fd, &http->port);
    if (rc == RC_OK)
        rc = open_parts(&http->context, config);
    if (rc != RC_OK)
        listen_close(fd);
    if (rc == RC_OK)
        rc = start_daemon(http, fd);
    if (rc != RC_OK) {
        http_stop(http);
        return rc;
    }
    log_info("pages and interface at http://%s:%u/", site->http_host, http->port);
    *out = http;
    return RC_OK;
}

void http_stop(struct http *http)
{
    if (http == NULL)
        return;
    struct context *context = &http->context;
    if (http->daemon != NULL) {
        live_stop(context->live);
        MHD_stop_daemon(http->daemon);
    }
    guard_close(context->guard);
    events_feed_close(context->feed);
    fitness_close(context->fitness);
    facts_close(context->facts);
    pool_close(context->pool);
    buf_free(&context->openapi);
    free(http);
}

uint16_t http_port(const struct http *http)
{
    return http != NULL ? http->port : 0;
}
