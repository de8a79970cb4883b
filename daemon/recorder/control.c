/* control.c - see control.h. */
#define _GNU_SOURCE /* accept4 */
#include "recorder/control.h"

#include <errno.h>
#include <poll.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/json.h"
#include "base/log.h"

enum {
    LINE_MOST = 4096,
    PATIENCE_MS = 1000,
    ALARMS_MOST = 256
};

struct control {
    struct recorder *recorder; /* borrowed */
    int fd;
    struct sockaddr_un address;
};

static bool address_of(const char *store_path, struct sockaddr_un *out)
{
    *out = (struct sockaddr_un){.sun_family = AF_UNIX};
    size_t len = strlen(store_path);
    if (len + sizeof ".sock" > sizeof out->sun_path)
        return false;
    memcpy(out->sun_path, store_path, len);
    memcpy(out->sun_path + len, ".sock", sizeof ".sock");
    return true;
}

enum rc control_open(const char *store_path, struct recorder *recorder, struct control **out)
{
    struct control *c = calloc(1, sizeof *c);
    if (c == NULL)
        return RC_NOMEM;
    c->recorder = recorder;
    c->fd = -1;
    *out = c;
    if (!address_of(store_path, &c->address)) {
        log_warn(
            "the store's path is too long for a socket beside it: the tool cannot ask this "
            "daemon");
        return RC_OK;
    }
    unlink(c->address.sun_path); /* of a run that was killed; the store's lock is ours */
    c->fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC | SOCK_NONBLOCK, 0);
    if (c->fd < 0 ||
        bind(c->fd, (const struct sockaddr *)&c->address, sizeof c->address) != 0 ||
        chmod(c->address.sun_path, 0660) != 0 || listen(c->fd, 8) != 0) {
        log_warn("cannot make %s (%s): the tool cannot ask this daemon", c->address.sun_path,
                 strerror(errno));
        if (c->fd >= 0)
            close(c->fd);
        c->fd = -1;
    }
    return RC_OK;
}

void control_close(struct control *c)
{
    if (c == NULL)
        return;
    if (c->fd >= 0) {
        unlink(c->address.sun_path);
        close(c->fd);
    }
    free(c);
}

int control_fd(const struct control *c)
{
    return c->fd;
}

static json_t *status_answer(struct control *c)
{
    static const char *const clocks[] = {"good", "unsynchronised", "implausible", "trusted"};
    struct live_status s;
    live_status(recorder_live(c->recorder), &s);
    return json_pack(
        "{s:b, s:b, s:s, s:s, s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:I, s:s, s:I, s:I}",
        "ok", 1, "writing", s.writing, "error", s.writing ? "" : rc_text(s.write_error),
        "clock", clocks[s.clock], "started", (json_int_t)s.started_s, "last_commit",
        (json_int_t)s.last_commit_s, "readings", (json_int_t)s.readings, "gaps",
        (json_int_t)s.gaps, "late", (json_int_t)s.late, "overflowed", (json_int_t)s.overflowed,
        "queued", (json_int_t)s.queued, "open_day", (json_int_t)s.open_day, "signed_days",
        (json_int_t)s.signed_days, "key", s.key_id, "messages_waiting",
        (json_int_t)s.messages_waiting, "messages_given_up", (json_int_t)s.messages_given_up);
}

static json_t *alarms_answer(struct control *c)
{
    struct live_alarm *alarms = calloc(ALARMS_MOST, sizeof *alarms);
    json_t *list = json_array();
    size_t count =
        alarms == NULL ? 0 : live_alarms(recorder_live(c->recorder), alarms, ALARMS_MOST);
    for (size_t i = 0; i < count; i++)
        json_array_append_new(list, json_pack("{s:I, s:s, s:s, s:s, s:I}", "alarm",
                                              (json_int_t)alarms[i].id, "limit",
                                              alarms[i].limit->name, "state",
                                              alarm_state_word(alarms[i].state), "priority",
                                              site_priority_word(alarms[i].limit->priority),
                                              "since", (json_int_t)alarms[i].since_s));
    free(alarms);
    return json_pack("{s:b, s:o}", "ok", 1, "alarms", list);
}

static json_t *refusal(const char *words)
{
    return json_pack("{s:b, s:s}", "ok", 0, "error", words);
}

static json_t *alarm_answer(struct control *c, const json_t *ask, enum alarm_input input)
{
    const char *person = json_string_value(json_object_get(ask, "person"));
    const char *reason = json_string_value(json_object_get(ask, "reason"));
    json_int_t id = json_integer_value(json_object_get(ask, "alarm"));
    json_int_t until = json_integer_value(json_object_get(ask, "until"));
    if (person == NULL || person[0] == '\0')
        return refusal("say who: \"person\" is missing");
    enum rc rc = recorder_alarm(c->recorder, id, input, until, person, reason);
    return rc == RC_OK ? json_pack("{s:b}", "ok", 1) : refusal(rc_text(rc));
}

static json_t *answer(struct control *c, const char *line, size_t len)
{
    json_t *ask = json_loadb(line, len, 0, NULL);
    const char *what = json_string_value(json_object_get(ask, "ask"));
    json_t *out = NULL;
    if (what == NULL)
        out = refusal("not a question: send one line of JSON with \"ask\"");
    else if (strcmp(what, "status") == 0)
        out = status_answer(c);
    else if (strcmp(what, "alarms") == 0)
        out = alarms_answer(c);
    else if (strcmp(what, "acknowledge") == 0)
        out = alarm_answer(c, ask, ALARM_ACKNOWLEDGE);
    else if (strcmp(what, "shelve") == 0)
        out = alarm_answer(c, ask, ALARM_SHELVE);
    else if (strcmp(what, "unshelve") == 0)
        out = alarm_answer(c, ask, ALARM_UNSHELVE);
    else
        out = refusal("no such question: status, alarms, acknowledge, shelve, unshelve");
    json_decref(ask);
    return out;
}

/* Reads up to a line feed, waiting no longer than our patience in all. */
static size_t read_line(int fd, char *line)
{
    size_t len = 0;
    int64_t until_ms = clock_now().mono_ms + PATIENCE_MS;
    while (len < LINE_MOST) {
        struct pollfd p = {.fd = fd, .events = POLLIN};
        int64_t left_ms = until_ms - clock_now().mono_ms;
        if (left_ms <= 0 || poll(&p, 1, (int)left_ms) <= 0)
            return 0;
        ssize_t n = read(fd, line + len, LINE_MOST - len);
        if (n <= 0)
            return 0;
        len += (size_t)n;
        if (memchr(line, '\n', len) != NULL)
            return len;
    }
    return 0;
}

void control_serve(struct control *c)
{
    char line[LINE_MOST];
    int fd = accept4(c->fd, NULL, NULL, SOCK_CLOEXEC | SOCK_NONBLOCK);
    if (fd < 0)
        return;
    size_t len = read_line(fd, line);
    if (len > 0) {
        struct buf text = {0};
        json_t *out = answer(c, line, len);
        json_put(&text, out);
        buf_str(&text, "\n");
        if (!text.failed && write(fd, text.data, text.len) != (ssize_t)text.len)
            log_debug("a client of the socket left before its answer");
        json_decref(out);
        buf_free(&text);
    }
    close(fd);
}
