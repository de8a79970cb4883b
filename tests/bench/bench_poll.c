/* bench_poll.c - Modbus TCP polls a second: our line and decoding against a bare loop around
 * libmodbus, on one server in one run.
 *
 *   bench_poll [POLLS [ROUNDS]] -> project, baseline, ratio, bar
 *
 * The server is a process of its own. Both sides ask for ten input registers; rounds alternate,
 * each gives a ratio, and the median of these counts.
 */
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <pthread.h>
#include <sys/prctl.h>
#include <sys/socket.h>
#include <arpa/inet.h>
#include <time.h>
#include <unistd.h>

#include <modbus.h>

#include "source/decode.h"
#include "source/line.h"

enum {
    REGISTERS = 10,
    ROUNDS_MAX = 101
};

static const double bar = 0.8;

static double now_s(void)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return (double)t.tv_sec + 1e-9 * (double)t.tv_nsec;
}

static void *serve_one(void *arg)
{
    int fd = *(int *)arg;
    free(arg);
    modbus_t *context = modbus_new_tcp("127.0.0.1", 1502);
    modbus_mapping_t *map = modbus_mapping_new(0, 0, 0, 100);
    uint8_t query[MODBUS_TCP_MAX_ADU_LENGTH];
    for (int i = 0; i < 100; i++)
        map->tab_input_registers[i] = (uint16_t)(2000 + i);
    modbus_set_socket(context, fd);
    for (int n; (n = modbus_receive(context, query)) >= 0;)
        if (modbus_reply(context, query, n, map) < 0)
            break;
    modbus_close(context);
    modbus_free(context);
    modbus_mapping_free(map);
    return NULL;
}

static void serve(int listener)
{
    prctl(PR_SET_PDEATHSIG, SIGTERM); /* never outlives the measurement */
    for (;;) {
        int *fd = malloc(sizeof *fd);
        pthread_t thread;
        if (fd == NULL || (*fd = accept(listener, NULL, NULL)) < 0 ||
            pthread_create(&thread, NULL, serve_one, fd) != 0)
            _exit(1);
        pthread_detach(thread);
    }
}

static int listen_somewhere(char *port, size_t size)
{
    struct sockaddr_in at = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    socklen_t len = sizeof at;
    int fd = socket(AF_INET, SOCK_STREAM, 0);
    if (fd < 0 || bind(fd, (struct sockaddr *)&at, sizeof at) != 0 || listen(fd, 4) != 0 ||
        getsockname(fd, (struct sockaddr *)&at, &len) != 0)
        return -1;
    snprintf(port, size, "%d", ntohs(at.sin_port));
    return fd;
}

/* Seconds for some polls; below zero if one failed. */
static double project(struct line *line, int polls)
{
    static const struct site_read read = {.quantity = QUANTITY_TEMPERATURE,
                                          .table = TABLE_INPUT,
                                          .type = TYPE_INT16,
                                          .scale = 0.01};
    const struct frame_request request = {
        .unit = 1, .table = TABLE_INPUT, .address = 0, .count = REGISTERS};
    struct frame_answer answer;
    enum gap_reason why;
    double begin_s = now_s();
    for (int i = 0; i < polls; i++) {
        answer.gap = GAP_NO_CONNECTION;
        if (line_ready(line, &why))
            line_ask(line, &request, 500, &answer);
        for (int k = 0; k < REGISTERS; k++) {
            int32_t value = 0;
            if (answer.gap != GAP_NONE ||
                decode_read(&read, answer.words + k, &value) != GAP_NONE || value != 2000 + k)
                return -1;
        }
    }
    return now_s() - begin_s;
}

static double baseline(modbus_t *context, int polls)
{
    uint16_t registers[REGISTERS];
    double begin_s = now_s();
    for (int i = 0; i < polls; i++)
        if (modbus_read_input_registers(context, 0, REGISTERS, registers) != REGISTERS ||
            registers[0] != 2000)
            return -1;
    return now_s() - begin_s;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

static double median(double *v, int count)
{
    qsort(v, (size_t)count, sizeof *v, by_size);
    return v[count / 2];
}

static int measure(const char *port, int polls, int rounds)
{
    const struct site_bus bus = {.name = "bench",
                                 .kind = BUS_MODBUS_TCP,
                                 .host = "127.0.0.1",
                                 .port = port,
                                 .response_ms = 500,
                                 .byte_ms = 50};
    struct line *line;
    modbus_t *context = modbus_new_tcp("127.0.0.1", (int)strtol(port, NULL, 10));
    if (context == NULL || modbus_connect(context) != 0 || line_new(&bus, -1, &line) != RC_OK)
        return 1;
    double ours_s[ROUNDS_MAX], theirs_s[ROUNDS_MAX], ratios[ROUNDS_MAX];
    for (int i = 0; i < rounds; i++) {
        ours_s[i] = project(line, polls);
        theirs_s[i] = baseline(context, polls);
        ratios[i] = theirs_s[i] / ours_s[i];
        if (ours_s[i] < 0 || theirs_s[i] < 0) {
            fprintf(stderr, "bench_poll: a poll failed\n");
            return 1;
        }
    }
    line_free(line);
    modbus_close(context);
    modbus_free(context);
    double ratio = median(ratios, rounds);
    printf("modbus tcp polls: project %.0f/s, baseline (bare libmodbus loop) %.0f/s, ratio "
           "%.2f, bar %.1f\n",
           polls / median(ours_s, rounds), polls / median(theirs_s, rounds), ratio, bar);
    return ratio >= bar ? 0 : 1;
}

int main(int argc, char **argv)
{
    bool brief = argc > 1 && strcmp(argv[1], "short") == 0;
    int polls = brief ? 300 : argc > 1 ? (int)strtol(argv[1], NULL, 10) : 2000;
    int rounds = brief ? 3 : argc > 2 ? (int)strtol(argv[2], NULL, 10) : 21;
    char port[16];
    int listener = listen_somewhere(port, sizeof port);
    if (polls < 1 || rounds < 1 || rounds > ROUNDS_MAX || listener < 0) {
        fprintf(stderr, "usage: bench_poll [short | POLLS [ROUNDS]]\n");
        return 2;
    }
    pid_t server = fork();
    if (server == 0)
        serve(listener);
    close(listener);
    int status = server < 0 ? 1 : measure(port, polls, rounds);
    if (server > 0)
        kill(server, SIGTERM);
    return status;
}
