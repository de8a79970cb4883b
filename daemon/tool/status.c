/* status.c - `stillroom status`: whether the daemon records, and since when. */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/un.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/json.h"
#include "tool/tool.h"

static const char usage[] = "usage: stillroom [--site FILE] status [--json] [--help]\n"
                            "Says whether the daemon records, since when, and what it saw.\n";

/* One question to the daemon's socket; NULL if no daemon answers. */
static json_t *ask(const char *store_path, const char *question)
{
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    int n = snprintf(address.sun_path, sizeof address.sun_path, "%s.sock", store_path);
    if (n < 0 || (size_t)n >= sizeof address.sun_path)
        return NULL;
    int fd = socket(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0);
    if (fd < 0)
        return NULL;
    struct timeval patience = {.tv_sec = 5};
    setsockopt(fd, SOL_SOCKET, SO_RCVTIMEO, &patience, sizeof patience);
    json_t *answer = NULL;
    if (connect(fd, (const struct sockaddr *)&address, sizeof address) == 0 &&
        write(fd, question, strlen(question)) == (ssize_t)strlen(question))
        answer = json_loadfd(fd, JSON_DISABLE_EOF_CHECK, NULL);
    close(fd);
    return answer;
}

static void print_words(const json_t *a)
{
    char since[40], commit[40];
    json_int_t last = json_integer_value(json_object_get(a, "last_commit"));
    clock_local_text(json_integer_value(json_object_get(a, "started")), since, sizeof since);
    clock_local_text(last, commit, sizeof commit);
    if (json_is_true(json_object_get(a, "writing")))
        printf("Recording since %s; last written %s.\n", since, last == 0 ? "not yet" : commit);
    else
        printf("NOT recording: %s. Readings are held in memory.\n",
               json_string_value(json_object_get(a, "error")));
    printf(
        "Since the start: %lld readings, %lld gaps, %lld late, %lld lost for want of room.\n",
        (long long)json_integer_value(json_object_get(a, "readings")),
        (long long)json_integer_value(json_object_get(a, "gaps")),
        (long long)json_integer_value(json_object_get(a, "late")),
        (long long)json_integer_value(json_object_get(a, "overflowed")));
    printf("Signed days: %lld, with key %s. Clock: %s.\n",
           (long long)json_integer_value(json_object_get(a, "signed_days")),
           json_string_value(json_object_get(a, "key")),
           json_string_value(json_object_get(a, "clock")));
    printf("Messages waiting to be sent: %lld.\n",
           (long long)json_integer_value(json_object_get(a, "messages_waiting")));
    json_int_t lost = json_integer_value(json_object_get(a, "messages_given_up"));
    if (lost > 0)
        printf("NOT delivered in a week's tries, of the last thirty days: %lld; see the log.\n",
               (long long)lost);
}

int status_main(const struct site *site, int argc, char **argv)
{
    static const struct option options[] = {
        {"json", no_argument, NULL, 'j'}, {"help", no_argument, NULL, 'h'}, {NULL, 0, NULL, 0}};
    bool as_json = false;
    optind = 0; /* the main has read options with other rules: begin anew */
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        if (c == 'h') {
            fputs(usage, stdout);
            return TOOL_DONE;
        }
        if (c != 'j') {
            fputs(usage, stderr);
            return TOOL_USAGE;
        }
        as_json = true;
    }
    json_t *answer = ask(site->store_path, "{\"ask\":\"status\"}\n");
    if (answer == NULL) {
        tool_refuse("no daemon is recording into %s; start it with: stillroomd --site %s",
                    site->store_path, site->path);
        return TOOL_SYSTEM;
    }
    if (as_json) {
        json_dumpf(answer, stdout, JSON_INDENT(2));
        putchar('\n');
    } else {
        print_words(answer);
    }
    bool writing = json_is_true(json_object_get(answer, "writing"));
    json_decref(answer);
    return writing ? TOOL_DONE : TOOL_FINDING;
}
