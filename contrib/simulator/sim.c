/* sim.c - stillroom-sim: the invented studio's transmitters, on real Modbus lines. */
#include <errno.h>
#include <getopt.h>
#include <math.h>
#include <poll.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/signalfd.h>
#include <unistd.h>

#include "base/clock.h"
#include "base/log.h"
#include "rack.h"
#include "server.h"

enum {
    EXIT_USAGE = 2,
    EXIT_BAD_INPUT = 3,
    EXIT_REFUSED = 4,
    FAULTS_MAX = 32,
    SETTLE_DAYS = 60, /* until rooms have forgotten how they began */
    LINE_MAX_BYTES = 256,
    ADVANCE_MS = 1000
};

static const char usage[] =
    "usage: stillroom-sim [--tcp HOST:PORT] [--rtu PATH] [OPTION ...]\n"
    "\n"
    "Serves the transmitters of an invented studio over Modbus: input registers and discrete\n"
    "inputs, several units on each line. It stops on SIGTERM or SIGINT.\n"
    "\n"
    "  --tcp HOST:PORT     serve Modbus TCP there (numeric host; port 0 takes a free one)\n"
    "  --rtu PATH          make a pseudo-terminal for Modbus RTU and link it at PATH\n"
    "  --seed N            which world (default 1)\n"
    "  --start UTC         the simulated moment to start at, ISO 8601 (default: now)\n"
    "  --world-from UTC    when the world began (default: 60 days before the start)\n"
    "  --scene UTC         let a few things happen in the days before this moment\n"
    "  --factor F          simulated seconds a second, 0-100000 (default 1; 0 stands still)\n"
    "  --misbehave FAULT   UNIT:KIND[:ARG][@FROM][+DURATION], seconds; may be repeated. "
    "Kinds:\n"
    "                      late:MS garbled short drip:MS exception:CODE wrong-unit silent\n"
    "                      stuck drifting:A_DAY nan solvent:PERCENT\n"
    "  --print             print what every instrument shows at the start, and end\n"
    "  --help              this text\n"
    "\n"
    "Lines on standard input while it runs: print, misbehave FAULT, behave [UNIT], quit.\n";

struct options {
    struct server_cfg server;
    struct world_cfg world;
    int64_t start_s; /* 0: now */
    double factor;
    bool print;
    const char *faults[FAULTS_MAX];
    size_t fault_count;
};

struct sim {
    struct rack *rack;     /* owned */
    struct server *server; /* owned */
    double factor;
    int64_t start_ms;      /* simulated */
    int64_t start_mono_ms; /* real */
    char line[LINE_MAX_BYTES];
    size_t line_length;
    bool stdin_open;
    bool stop;
};

static bool parse_number(const char *text, double least, double most, double *out)
{
    char *end = NULL;
    double value = strtod(text, &end);
    if (end == text || *end != '\0' || !(value >= least && value <= most))
        return false;
    *out = value;
    return true;
}

static bool parse_seed(const char *text, uint64_t *out)
{
    char *end = NULL;
    errno = 0;
    unsigned long long value = strtoull(text, &end, 10);
    if (end == text || *end != '\0' || errno != 0 || text[0] == '-')
        return false;
    *out = value;
    return true;
}

static bool parse_option(int option, const char *text, struct options *o)
{
    switch (option) {
    case 't':
        o->server.tcp = text;
        return true;
    case 'r':
        o->server.rtu = text;
        return true;
    case 's':
        return parse_seed(text, &o->world.seed);
    case 'b':
        return clock_parse(text, &o->start_s);
    case 'w':
        return clock_parse(text, &o->world.start_utc_s);
    case 'c':
        return clock_parse(text, &o->world.scene_utc_s);
    case 'f':
        return parse_number(text, 0.0, 100000.0, &o->factor);
    case 'm':
        if (o->fault_count == FAULTS_MAX)
            return false;
        o->faults[o->fault_count++] = text;
        return true;
    default:
        o->print = true;
        return true;
    }
}

/* Returns -1 to go on, else the exit status. */
static int parse_options(int argc, char **argv, struct options *o)
{
    static const struct option names[] = {
        {"tcp", required_argument, NULL, 't'},
        {"rtu", required_argument, NULL, 'r'},
        {"seed", required_argument, NULL, 's'},
        {"start", required_argument, NULL, 'b'},
        {"world-from", required_argument, NULL, 'w'},
        {"scene", required_argument, NULL, 'c'},
        {"factor", required_argument, NULL, 'f'},
        {"misbehave", required_argument, NULL, 'm'},
        {"print", no_argument, NULL, 'p'},
        {"help", no_argument, NULL, 'h'},
        {NULL, 0, NULL, 0},
    };
    int option, index = 0;
    while ((option = getopt_long(argc, argv, "", names, &index)) != -1) {
        if (option == 'h') {
            fputs(usage, stdout);
            return EXIT_SUCCESS;
        }
        if (option == '?') {
            fputs("stillroom-sim --help lists the options\n", stderr);
            return EXIT_USAGE;
        }
        if (!parse_option(option, optarg, o)) {
            fprintf(stderr, "stillroom-sim: --%s %s is not allowed; see --help\n",
                    names[index].name, optarg);
            return EXIT_USAGE;
        }
    }
    if (optind < argc || (!o->print && o->server.tcp == NULL && o->server.rtu == NULL)) {
        fputs("stillroom-sim: give --tcp, --rtu or --print; see --help\n", stderr);
        return EXIT_USAGE;
    }
    return -1;
}

static void advance(struct sim *s, int64_t mono_ms)
{
    double passed_ms = (double)(mono_ms - s->start_mono_ms) * s->factor;
    rack_advance(s->rack, s->start_ms + (int64_t)passed_ms);
}

static void obey(struct sim *s, const char *line)
{
    char why[160];
    int unit = 0;
    if (strcmp(line, "print") == 0)
        rack_print(s->rack, stdout);
    else if (strcmp(line, "quit") == 0)
        s->stop = true;
    else if (strcmp(line, "behave") == 0)
        rack_behave(s->rack, 0);
    else if (sscanf(line, "behave %d", &unit) == 1)
        rack_behave(s->rack, unit);
    else if (strncmp(line, "misbehave ", 10) != 0)
        log_warn("what does \"%s\" mean? print, misbehave FAULT, behave [UNIT] or quit", line);
    else if (!rack_misbehave(s->rack, line + 10, why, sizeof why))
        log_warn("%s: %s", line + 10, why);
}

static void read_stdin(struct sim *s)
{
    char bytes[LINE_MAX_BYTES];
    ssize_t got = read(STDIN_FILENO, bytes, sizeof bytes);
    if (got <= 0) {
        s->stdin_open = false;
        return;
    }
    for (ssize_t i = 0; i < got; i++) {
        if (bytes[i] == '\n') {
            s->line[s->line_length] = '\0';
            s->line_length = 0;
            obey(s, s->line);
        } else if (s->line_length + 1 < sizeof s->line) {
            s->line[s->line_length++] = bytes[i];
        }
    }
}

static int run(struct sim *s, int signals)
{
    struct pollfd fds[SERVER_FDS_MAX + 2];
    int64_t due_mono_ms = INT64_MAX;
    while (!s->stop) {
        fds[0] = (struct pollfd){.fd = signals, .events = POLLIN};
        fds[1] = (struct pollfd){.fd = s->stdin_open ? STDIN_FILENO : -1, .events = POLLIN};
        size_t count = server_fds(s->server, fds + 2);
        int64_t wait_ms = due_mono_ms - clock_now().mono_ms;
        wait_ms = wait_ms < 0 ? 0 : wait_ms > ADVANCE_MS ? ADVANCE_MS : wait_ms;
        if (poll(fds, count + 2, (int)wait_ms) < 0 && errno != EINTR) {
            log_err("poll: %s", strerror(errno));
            return EXIT_REFUSED;
        }
        int64_t mono_ms = clock_now().mono_ms;
        advance(s, mono_ms);
        if (fds[0].revents != 0)
            break;
        if (fds[1].revents != 0)
            read_stdin(s);
        due_mono_ms = server_step(s->server, s->rack, fds + 2, count, mono_ms);
    }
    return EXIT_SUCCESS;
}

static int serve(struct sim *s, const struct options *o)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    if (sigprocmask(SIG_BLOCK, &set, NULL) != 0)
        return EXIT_REFUSED;
    signal(SIGPIPE, SIG_IGN); /* a peer may go at any moment */
    int signals = signalfd(-1, &set, SFD_CLOEXEC);
    if (signals < 0) {
        log_err("signalfd: %s", strerror(errno));
        return EXIT_REFUSED;
    }
    enum rc rc = server_open(&o->server, &s->server);
    if (rc != RC_OK) {
        close(signals);
        return rc == RC_BAD_INPUT ? EXIT_BAD_INPUT : EXIT_REFUSED;
    }
    if (o->server.tcp != NULL)
        printf("tcp %d\n", server_port(s->server));
    if (o->server.rtu != NULL)
        printf("rtu %s\n", o->server.rtu);
    fflush(stdout);
    s->start_mono_ms = clock_now().mono_ms;
    int status = run(s, signals);
    close(signals);
    return status;
}

static bool add_faults(struct sim *s, const struct options *o)
{
    char why[160];
    for (size_t i = 0; i < o->fault_count; i++) {
        if (!rack_misbehave(s->rack, o->faults[i], why, sizeof why)) {
            log_err("--misbehave %s: %s", o->faults[i], why);
            return false;
        }
    }
    return true;
}

int main(int argc, char **argv)
{
    struct options o = {.world.seed = 1, .factor = 1.0};
    log_setup(LOG_LEVEL_INFO);
    int status = parse_options(argc, argv, &o);
    if (status >= 0)
        return status;
    int64_t start_ms = o.start_s != 0 ? o.start_s * 1000 : clock_now().utc_ms;
    if (o.world.start_utc_s == 0)
        o.world.start_utc_s = start_ms / 1000 - (int64_t)SETTLE_DAYS * CLOCK_DAY_S;

    struct sim s = {.factor = o.factor, .start_ms = start_ms, .stdin_open = true};
    enum rc rc = rack_open(&o.world, start_ms, &s.rack);
    if (rc != RC_OK) {
        log_err("cannot begin the world: %s", rc_text(rc));
        return rc == RC_BAD_INPUT ? EXIT_BAD_INPUT : EXIT_REFUSED;
    }
    if (!add_faults(&s, &o)) {
        status = EXIT_BAD_INPUT;
    } else if (o.print) {
        rack_print(s.rack, stdout);
        status = EXIT_SUCCESS;
    } else {
        status = serve(&s, &o);
    }
    server_close(s.server);
    rack_close(s.rack);
    return status;
}
