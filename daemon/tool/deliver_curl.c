/* deliver_curl.c - mail and webhooks by libcurl, where it was there at build. */
#include "tool/deliver.h"

#ifndef HAVE_CURL

enum deliver_exit deliver_mail(const json_t *order)
{
    (void)order;
    return deliver_fail(DELIVER_REFUSED, "built without libcurl: no mail can be sent");
}

enum deliver_exit deliver_webhook(const json_t *order)
{
    (void)order;
    return deliver_fail(DELIVER_REFUSED, "built without libcurl: no webhook can be told");
}

#else

#include <curl/curl.h>
#include <string.h>

#include "base/seal.h"
#include "tool/letter.h"

enum {
    /* In all shorter than the daemon's patience. */
    CONNECT_S = 20,
    WHOLE_S = 50
};

static enum deliver_exit later(void)
{
    return deliver_fail(DELIVER_LATER, "out of memory");
}

static CURL *begin(void)
{
    CURL *curl = curl_global_init(CURL_GLOBAL_DEFAULT) == CURLE_OK ? curl_easy_init() : NULL;
    if (curl == NULL)
        return NULL;
    curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, (long)CONNECT_S);
    curl_easy_setopt(curl, CURLOPT_TIMEOUT, (long)WHOLE_S);
    curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(curl, CURLOPT_PROXY, "");
    return curl;
}

/* What somebody must change before it can work; all else may mend itself. */
static bool lasting(CURLcode code)
{
    return code == CURLE_URL_MALFORMAT || code == CURLE_UNSUPPORTED_PROTOCOL ||
           code == CURLE_USE_SSL_FAILED || code == CURLE_PEER_FAILED_VERIFICATION ||
           code == CURLE_SSL_CACERT_BADFILE || code == CURLE_NOT_BUILT_IN;
}

/* -- mail -- */

struct upload {
    const char *at;
    size_t left;
};

static size_t give(char *out, size_t size, size_t count, void *context)
{
    struct upload *u = context;
    size_t n = size * count < u->left ? size * count : u->left;
    memcpy(out, u->at, n);
    u->at += n;
    u->left -= n;
    return n;
}

static enum deliver_exit log_in(CURL *curl, const json_t *server)
{
    struct buf password = {0};
    const char *user = deliver_text(server, "user");
    if (user[0] == '\0')
        return DELIVER_TAKEN;
    enum deliver_exit how = deliver_secret(deliver_text(server, "password_file"), &password);
    if (how == DELIVER_TAKEN) {
        curl_easy_setopt(curl, CURLOPT_USERNAME, user);
        curl_easy_setopt(curl, CURLOPT_PASSWORD, password.data);
    }
    buf_free(&password);
    return how;
}

static void address(CURL *curl, const json_t *server, struct buf *url)
{
    const char *security = deliver_text(server, "security"),
               *host = deliver_text(server, "host");
    bool v6 = strchr(host, ':') != NULL;
    buf_printf(url, "%s://%s%s%s:%s", strcmp(security, "tls") == 0 ? "smtps" : "smtp",
               v6 ? "[" : "", host, v6 ? "]" : "", deliver_text(server, "port"));
    if (!url->failed)
        curl_easy_setopt(curl, CURLOPT_URL, url->data);
    curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "smtp,smtps");
    if (strcmp(security, "none") != 0)
        curl_easy_setopt(curl, CURLOPT_USE_SSL, (long)CURLUSESSL_ALL);
    if (deliver_text(server, "ca_file")[0] != '\0')
        curl_easy_setopt(curl, CURLOPT_CAINFO, deliver_text(server, "ca_file"));
}

/* A mail server's 5yz is for good (RFC 5321, 4.2.1), but a lasting fault of ours too. */
static enum deliver_exit mail_outcome(CURL *curl, CURLcode code, const char *detail)
{
    long response = 0;
    if (code == CURLE_OK)
        return DELIVER_TAKEN;
    curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &response);
    bool refused = lasting(code) || (response >= 500 && response < 600);
    return deliver_fail(refused ? DELIVER_REFUSED : DELIVER_LATER, "mail server: %s",
                        detail[0] != '\0' ? detail : curl_easy_strerror(code));
}

static enum deliver_exit send_mail(CURL *curl, const json_t *order, const struct buf *text)
{
    const json_t *server = json_object_get(order, "server");
    char detail[CURL_ERROR_SIZE] = "";
    struct buf url = {0};
    struct upload upload = {.at = text->data, .left = text->len};
    struct curl_slist *to = curl_slist_append(NULL, deliver_text(order, "to"));
    enum deliver_exit how = log_in(curl, server);
    address(curl, server, &url);
    curl_easy_setopt(curl, CURLOPT_MAIL_FROM, deliver_text(server, "from"));
    curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, to);
    curl_easy_setopt(curl, CURLOPT_READFUNCTION, give);
    curl_easy_setopt(curl, CURLOPT_READDATA, &upload);
    curl_easy_setopt(curl, CURLOPT_UPLOAD, 1L);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, detail);
    if (how == DELIVER_TAKEN && (url.failed || to == NULL))
        how = later();
    if (how == DELIVER_TAKEN)
        how = mail_outcome(curl, curl_easy_perform(curl), detail);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, NULL);
    curl_easy_setopt(curl, CURLOPT_MAIL_RCPT, NULL);
    curl_slist_free_all(to);
    buf_free(&url);
    return how;
}

enum deliver_exit deliver_mail(const json_t *order)
{
    const json_t *server = json_object_get(order, "server");
    struct buf text = {0};
    const struct letter letter = {
        .from = deliver_text(server, "from"),
        .to = deliver_text(order, "to"),
        .sender = deliver_text(order, "studio"),
        .subject = deliver_text(order, "subject"),
        .body = deliver_text(order, "body"),
        .message_id = deliver_text(order, "message_id"),
        .written_s = json_integer_value(json_object_get(order, "created")),
    };
    letter_write(&letter, &text);
    CURL *curl = begin();
    enum deliver_exit how =
        curl == NULL || text.failed ? later() : send_mail(curl, order, &text);
    curl_easy_cleanup(curl);
    buf_free(&text);
    return how;
}

/* -- webhooks -- */

static void payload(const json_t *order, struct buf *out)
{
    json_t *json = json_pack(
        "{s:s, s:s, s:s, s:s, s:s, s:I}", "studio", deliver_text(order, "studio"), "message_id",
        deliver_text(order, "message_id"), "kind", deliver_text(order, "kind"), "subject",
        deliver_text(order, "subject"), "body", deliver_text(order, "body"), "created",
        json_integer_value(json_object_get(order, "created")));
    if (json == NULL)
        out->failed = true;
    else
        json_put(out, json);
    json_decref(json);
}

/* The header that proves to who shares the secret that the body is ours. */
static enum deliver_exit add_signature(const struct buf *secret, const struct buf *body,
                                       struct curl_slist **headers)
{
    uint8_t digest[SEAL_DIGEST];
    char hex[SEAL_HEX];
    struct buf line = {0};
    seal_hmac(secret->data, secret->len, body->data, body->len, digest);
    seal_hex(digest, hex);
    buf_printf(&line, "X-Stillroom-Signature: sha256=%s", hex);
    struct curl_slist *more = line.failed ? NULL : curl_slist_append(*headers, line.data);
    buf_free(&line);
    if (more == NULL)
        return later();
    *headers = more;
    return DELIVER_TAKEN;
}

static enum deliver_exit sign(const json_t *order, const struct buf *body,
                              struct curl_slist **headers)
{
    const char *path = deliver_text(order, "secret_file");
    struct buf secret = {0};
    if (path[0] == '\0')
        return DELIVER_TAKEN;
    enum deliver_exit how = deliver_secret(path, &secret);
    if (how == DELIVER_TAKEN)
        how = add_signature(&secret, body, headers);
    buf_free(&secret);
    return how;
}

/* Taken by any 2xx; what asks for patience, or is a fault of the server's own, may mend itself. */
static enum deliver_exit web_outcome(CURL *curl, CURLcode code, const char *detail)
{
    long response = 0;
    if (code != CURLE_OK)
        return deliver_fail(lasting(code) ? DELIVER_REFUSED : DELIVER_LATER, "webhook: %s",
                            detail[0] != '\0' ? detail : curl_easy_strerror(code));
    curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &response);
    if (response >= 200 && response < 300)
        return DELIVER_TAKEN;
    bool patience = response >= 500 || response == 408 || response == 425 || response == 429;
    return deliver_fail(patience ? DELIVER_LATER : DELIVER_REFUSED,
                        "webhook: answered with status %ld", response);
}

static size_t forget(char *data, size_t size, size_t count, void *context)
{
    (void)data, (void)context;
    return size * count;
}

static enum deliver_exit post(CURL *curl, const json_t *order, const struct buf *body,
                              struct curl_slist *headers)
{
    char detail[CURL_ERROR_SIZE] = "";
    curl_easy_setopt(curl, CURLOPT_URL, deliver_text(order, "url"));
    curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "http,https");
    curl_easy_setopt(curl, CURLOPT_HTTPHEADER, headers);
    curl_easy_setopt(curl, CURLOPT_POSTFIELDS, body->data);
    curl_easy_setopt(curl, CURLOPT_POSTFIELDSIZE, (long)body->len);
    curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, forget);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, detail);
    enum deliver_exit how = web_outcome(curl, curl_easy_perform(curl), detail);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, NULL);
    return how;
}

enum deliver_exit deliver_webhook(const json_t *order)
{
    struct buf body = {0};
    CURL *curl = begin();
    struct curl_slist *headers = curl_slist_append(NULL, "Content-Type: application/json");
    payload(order, &body);
    enum deliver_exit how =
        curl == NULL || headers == NULL || body.failed ? later() : sign(order, &body, &headers);
    if (how == DELIVER_TAKEN)
        how = post(curl, order, &body, headers);
    curl_easy_cleanup(curl);
    curl_slist_free_all(headers);
    buf_free(&body);
    return how;
}

#endif
