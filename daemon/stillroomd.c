/* stillroomd.c - the daemon: reads like a list of contents. */
#define _GNU_SOURCE /* getopt_long */
#include <errno.h>
#include <getopt.h>
#include <limits.h>
#include <malloc.h>
#include <poll.h>
#include <signal.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/signalfd.h>
#include <unistd.h>
#ifdef HAVE_SYSTEMD
#include <systemd/sd-daemon.h>
#endif

#include "base/clock.h"
#include "base/log.h"
#include "http/server.h"
#include "recorder/control.h"
#include "recorder/recorder.h"
#include "site/site.h"
#include "source/source.h"
#include "version.h"

enum {
    EXIT_DONE = 0,
    EXIT_USAGE = 2,
    EXIT_INPUT = 3,
    EXIT_SYSTEM = 4,
    STUCK_MS = 30000,        /* a thread that has not moved for so long is stuck */
    DESCRIPTORS_MOST = 1000, /* libmodbus ends the process at a descriptor of 1024 */
};

struct app {
    const char *site_path; /* borrowed from the command line */
    struct site *site;
    struct recorder *recorder;
    struct source **sources; /* one a bus */
    size_t source_count;
    struct http *http;
    struct control *control;
    int signals;         /* descriptor */
    char tool[PATH_MAX]; /* `stillroom`, which carries messages */
    struct courier courier;
};

static int exit_status(enum rc rc)
{
    return rc == RC_OK ? EXIT_DONE : rc == RC_BAD_INPUT ? EXIT_INPUT : EXIT_SYSTEM;
}

/* Reads the site file, saying every mistake in it. */
static enum rc read_site(const char *path, struct site **out)
{
    struct buf mistakes = {0};
    enum rc rc = site_read(path, &mistakes, out);
    if (mistakes.len > 0)
        fputs(mistakes.data, stderr);
    buf_free(&mistakes);
    return rc;
}

static enum rc start_source(struct app *app, const struct site_bus *bus)
{
    struct source_instrument *in = calloc(app->site->instrument_count + 1, sizeof *in);
    if (in == NULL)
        return RC_NOMEM;
    struct source_config cfg = {
        .bus = bus, .instruments = in, .clock_trusted = app->site->clock_trusted};
    for (size_t i = 0; i < app->site->instrument_count; i++) {
        const struct site_instrument *config = &app->site->instruments[i];
        if (config->bus != bus)
            continue;
        struct source_instrument *mine = &in[cfg.instrument_count++];
        mine->config = config;
        for (size_t k = 0; k < config->read_count && k < SOURCE_READS_MAX; k++)
            mine->channel[k] = recorder_channel(app->recorder, i, k);
    }
    enum rc rc =
        source_start(&cfg, recorder_sink(app->recorder), &app->sources[app->source_count]);
    app->source_count += rc == RC_OK;
    free(in);
    return rc;
}

static enum rc start_sources(struct app *app)
{
    app->sources = calloc(app->site->bus_count + 1, sizeof *app->sources);
    if (app->sources == NULL)
        return RC_NOMEM;
    enum rc rc = RC_OK;
    for (size_t i = 0; rc == RC_OK && i < app->site->bus_count; i++)
        rc = start_source(app, &app->site->buses[i]);
    return rc;
}

static enum rc start_http(struct app *app)
{
    struct http_config cfg = {.site = app->site,
                              .live = recorder_live(app->recorder),
                              .store_path = app->site->store_path,
                              .version = STILLROOM_VERSION};
    return app->site->http_off ? RC_OK : http_start(&cfg, &app->http);
}

static enum rc start(struct app *app)
{
    struct recorder_cfg cfg = {.site = app->site, .courier = &app->courier};
    enum rc rc = recorder_open(&cfg, clock_now(), &app->recorder);
    if (rc == RC_OK)
        rc = recorder_start(app->recorder);
    if (rc == RC_OK)
        rc = start_sources(app);
    if (rc == RC_OK)
        rc = start_http(app);
    if (rc == RC_OK)
        rc = control_open(app->site->store_path, app->recorder, &app->control);
    return rc;
}

static void stop(struct app *app)
{
    control_close(app->control);
    if (app->recorder != NULL)
        live_stop(recorder_live(app->recorder));
    http_stop(app->http);
    for (size_t i = 0; i < app->source_count; i++)
        source_stop(app->sources[i]);
    if (app->recorder != NULL)
        recorder_stop(app->recorder);
    recorder_close(app->recorder, clock_now());
    free(app->sources);
    app->control = NULL;
    app->http = NULL;
    app->sources = NULL;
    app->source_count = 0;
    app->recorder = NULL;
}

static void tell_systemd(const char *state)
{
#ifdef HAVE_SYSTEMD
    sd_notify(0, state);
#else
    (void)state;
#endif
}

/* Whole or not at all: a file with a mistake changes nothing, and says so. */
static enum rc reload(struct app *app)
{
    struct site *fresh;
    tell_systemd("RELOADING=1");
    if (read_site(app->site_path, &fresh) != RC_OK) {
        log_err("the site file has mistakes: nothing was changed, the old one stays in force");
        tell_systemd("READY=1");
        return RC_OK;
    }
    struct site *old = app->site;
    stop(app); /* no thread may look at the clock's zone while it is changed */
    if (!clock_zone_set(fresh->timezone))
        log_warn("time zone %s is not known here; times stay in the old one", fresh->timezone);
    app->site = fresh;
    enum rc rc = start(app);
    if (rc == RC_OK) {
        site_free(old);
        log_info("the site file was read again");
    } else {
        log_err("the new site file cannot be used here: the old one stays in force");
        stop(app);
        site_free(fresh);
        app->site = old;
        if (!clock_zone_set(old->timezone))
            log_warn("time zone %s is not known here", old->timezone);
        rc = start(app);
    }
    tell_systemd("READY=1");
    return rc;
}

/* Feeds the watchdog only while every thread moves. */
static void feed_watchdog(struct app *app)
{
    int64_t now_ms = clock_now().mono_ms;
    bool moving = now_ms - recorder_moved_ms(app->recorder) < STUCK_MS;
    for (size_t i = 0; i < app->source_count; i++)
        moving = moving && now_ms - source_moved_ms(app->sources[i]) < STUCK_MS;
    if (moving)
        tell_systemd("WATCHDOG=1");
}

/* Waits for a signal, a question by the socket, or a second. */
static enum rc serve(struct app *app)
{
    for (;;) {
        struct pollfd fds[2] = {{.fd = app->signals, .events = POLLIN},
                                {.fd = control_fd(app->control), .events = POLLIN}};
        if (poll(fds, 2, 1000) < 0 && errno != EINTR)
            return RC_IO;
        feed_watchdog(app);
        if ((fds[1].revents & POLLIN) != 0)
            control_serve(app->control);
        struct signalfd_siginfo info;
        if ((fds[0].revents & POLLIN) == 0 ||
            read(app->signals, &info, sizeof info) != (ssize_t)sizeof info)
            continue;
        if (info.ssi_signo != SIGHUP)
            return RC_OK;
        enum rc rc = reload(app);
        if (rc != RC_OK)
            return rc;
    }
}

/* One heap for all threads, which gives back what an answer needed: a heap for each of many
 * short-lived threads would keep the largest chart that it ever made. */
static void keep_small(void)
{
    mallopt(M_ARENA_MAX, 1);
    mallopt(M_MMAP_THRESHOLD, 65536);
    mallopt(M_TRIM_THRESHOLD, 131072);
}

/* The tool beside this program, as it is built, else where it is installed. */
static void find_tool(struct app *app)
{
    static const char name[] = "stillroom";
    ssize_t n = readlink("/proc/self/exe", app->tool, sizeof app->tool - sizeof name);
    app->tool[n > 0 ? n : 0] = '\0';
    char *slash = strrchr(app->tool, '/');
    if (slash != NULL)
        memcpy(slash + 1, name, sizeof name);
    if (slash == NULL || access(app->tool, X_OK) != 0)
        snprintf(app->tool, sizeof app->tool, "%s", STILLROOM_TOOL);
    app->courier = courier_of(app->tool);
}

/* Before any thread: they inherit the blocked signals and the limit. */
static enum rc prepare_process(struct app *app)
{
    sigset_t set;
    sigemptyset(&set);
    sigaddset(&set, SIGTERM);
    sigaddset(&set, SIGINT);
    sigaddset(&set, SIGHUP);
    sigprocmask(SIG_BLOCK, &set, NULL);
    signal(SIGPIPE, SIG_IGN);
    app->signals = signalfd(-1, &set, SFD_CLOEXEC);
    struct rlimit limit = {.rlim_cur = DESCRIPTORS_MOST, .rlim_max = DESCRIPTORS_MOST};
    if (setrlimit(RLIMIT_NOFILE, &limit) != 0)
        log_warn("cannot set the number of open files: %s", strerror(errno));
    return app->signals < 0 ? RC_IO : RC_OK;
}

static enum rc run(struct app *app)
{
    enum rc rc = prepare_process(app);
    if (rc == RC_OK)
        rc = start(app);
    if (rc == RC_OK) {
        log_info("%s: recording %zu instruments in %zu zones into %s", app->site->studio,
                 app->site->instrument_count, app->site->zone_count, app->site->store_path);
        tell_systemd("READY=1");
        rc = serve(app);
    }
    tell_systemd("STOPPING=1");
    stop(app);
    if (rc == RC_OK)
        log_info("stopped");
    return rc;
}

static const char usage[] =
    "usage: stillroomd --site FILE [--check] [--foreground]\n"
    "Records the studio's humidity and temperature sensors and shows what the air means.\n\n"
    "  --site FILE    the site file (default /etc/stillroom/site.ini)\n"
    "  --check        only checks the site file, and lists every mistake in it\n"
    "  --foreground   stays in the foreground (it always does; accepted for clarity)\n"
    "  --version, --help\n\n"
    "Exit status: 0 stopped as asked, 2 usage, 3 mistakes in the site file, 4 the system\n"
    "refused (a port in use, a folder that cannot be written, another daemon on the store).\n";

/* Reads the command line; -1: go on, else the exit status. */
static int read_options(int argc, char **argv, struct app *app, bool *check)
{
    static const struct option options[] = {
        {"site", required_argument, NULL, 's'}, {"check", no_argument, NULL, 'c'},
        {"foreground", no_argument, NULL, 'f'}, {"version", no_argument, NULL, 'v'},
        {"help", no_argument, NULL, 'h'},       {NULL, 0, NULL, 0}};
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 's':
            app->site_path = optarg;
            break;
        case 'c':
            *check = true;
            break;
        case 'f':
            break;
        case 'v':
            puts("stillroomd " STILLROOM_VERSION);
            return EXIT_DONE;
        case 'h':
            fputs(usage, stdout);
            return EXIT_DONE;
        default:
            fputs(usage, stderr);
            return EXIT_USAGE;
        }
    }
    if (optind < argc) {
        fprintf(stderr, "stillroomd: \"%s\" is not expected\n%s", argv[optind], usage);
        return EXIT_USAGE;
    }
    return -1;
}

int main(int argc, char **argv)
{
    struct app app = {.site_path = "/etc/stillroom/site.ini", .signals = -1};
    bool check = false;
    int status = read_options(argc, argv, &app, &check);
    if (status >= 0)
        return status;
    keep_small();
    find_tool(&app);
    log_setup(LOG_LEVEL_INFO);
    enum rc rc = read_site(app.site_path, &app.site);
    if (rc == RC_OK && !clock_zone_set(app.site->timezone)) {
        log_err("time zone %s is not known on this machine", app.site->timezone);
        rc = RC_BAD_INPUT;
    }
    if (rc == RC_OK && check)
        printf("%s: no mistakes\n", app.site_path);
    else if (rc == RC_OK)
        rc = run(&app);
    if (app.signals >= 0)
        close(app.signals);
    site_free(app.site);
    return exit_status(rc);
}
