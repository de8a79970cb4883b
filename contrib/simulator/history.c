/* history.c - stillroom-history: writes the invented studio's past into a new store, through
 * the recorder itself, by simulated time. */
#include <errno.h>
#include <getopt.h>
#include <pthread.h>
#include <sched.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buf.h"
#include "base/clock.h"
#include "base/log.h"
#include "recorder/recorder.h"
#include "site/site.h"

#include "calendar.h"
#include "instrument.h"
#include "unsynced.h"
#include "world.h"

enum {
    EXIT_USAGE = 2,
    EXIT_BAD_INPUT = 3,
    EXIT_REFUSED = 4,
    COMMIT_MS = 6 * 3600 * 1000, /* simulated; nobody waits for these readings */
    MONO_MS = 1000000,           /* the simulated machine has been up for a while */
    UPS_S = 20 * 60,             /* how long the studio's small battery carries the recorder */
    ALARMS_MAX = 64,
    MORNING_MIN = 8 * 60 + 50, /* when somebody looks through the alarms, */
    EVENING_MIN = 17 * 60 + 10 /* and again before lock-up */
};

static const char usage[] =
    "usage: stillroom-history --site FILE --from UTC [OPTION ...]\n"
    "\n"
    "Writes an invented past of the demo's studio into the store that the site file names and\n"
    "that must not exist yet: readings, gaps, alarms, closed and signed days, as the daemon\n"
    "would have written them. One reading each `every` of the site file.\n"
    "\n"
    "  --site FILE         the site file; its instruments are those of stillroom-sim\n"
    "  --from UTC          first moment, ISO 8601\n"
    "  --to UTC            last moment (default: now)\n"
    "  --seed N            which world (default 1)\n"
    "  --world-from UTC    when the world began (default: 60 days before --from)\n"
    "  --scene UTC         let a few things happen in the days before this moment\n"
    "  --help              this text\n";

struct options {
    const char *site_path;
    int64_t from_s, to_s; /* to_s 0: now */
    struct world_cfg world;
};

struct history {
    struct site *site;         /* owned */
    struct world *world;       /* owned */
    struct recorder *recorder; /* owned; NULL while the power is cut */
    size_t *instruments;       /* owned; index in the world of each of the site's */
    int64_t from_s, to_s;      /* to_s 0: until now, however long this takes */
    int64_t mains_lost_s;      /* 0: there is mains */
    int round;                 /* the last round of the day that was made, as a minute */
    uint64_t readings;
};

static struct tick tick_of(const struct history *h, int64_t utc_s)
{
    return (struct tick){.mono_ms = MONO_MS + (utc_s - h->from_s) * 1000,
                         .utc_ms = utc_s * 1000 + 500};
}

static bool parse_option(int option, const char *text, struct options *o)
{
    char *end = NULL;
    switch (option) {
    case 's':
        o->site_path = text;
        return true;
    case 'f':
        return clock_parse(text, &o->from_s);
    case 't':
        return clock_parse(text, &o->to_s);
    case 'w':
        return clock_parse(text, &o->world.start_utc_s);
    case 'c':
        return clock_parse(text, &o->world.scene_utc_s);
    default:
        errno = 0;
        o->world.seed = strtoull(text, &end, 10);
        return end != text && *end == '\0' && errno == 0 && text[0] != '-';
    }
}

/* Returns -1 to go on, else the exit status. */
static int parse_options(int argc, char **argv, struct options *o)
{
    static const struct option names[] = {
        {"site", required_argument, NULL, 's'},  {"from", required_argument, NULL, 'f'},
        {"to", required_argument, NULL, 't'},    {"world-from", required_argument, NULL, 'w'},
        {"scene", required_argument, NULL, 'c'}, {"seed", required_argument, NULL, 'n'},
        {"help", no_argument, NULL, 'h'},        {NULL, 0, NULL, 0},
    };
    int option, index = 0;
    while ((option = getopt_long(argc, argv, "", names, &index)) != -1) {
        if (option == 'h') {
            fputs(usage, stdout);
            return EXIT_SUCCESS;
        }
        if (option == '?' || !parse_option(option, optarg, o)) {
            if (option != '?')
                fprintf(stderr, "stillroom-history: --%s %s is not allowed; see --help\n",
                        names[index].name, optarg);
            return EXIT_USAGE;
        }
    }
    if (optind < argc || o->site_path == NULL || o->from_s == 0) {
        fputs("stillroom-history: give --site and --from; see --help\n", stderr);
        return EXIT_USAGE;
    }
    return -1;
}

static enum rc read_site(struct history *h, const char *path)
{
    struct buf mistakes = {0};
    enum rc rc = site_read(path, &mistakes, &h->site);
    if (rc != RC_OK && mistakes.len > 0)
        fprintf(stderr, "%s", mistakes.data);
    buf_free(&mistakes);
    if (rc != RC_OK)
        return rc;
    if (!clock_zone_set(h->site->timezone)) {
        log_err("%s: this system does not know the time zone %s", path, h->site->timezone);
        return RC_BAD_INPUT;
    }
    struct stat st;
    if (stat(h->site->store_path, &st) == 0) {
        log_err("%s exists; a past is written into a new store only", h->site->store_path);
        return RC_CONFLICT;
    }
    return RC_OK;
}

/* Each instrument of the site must be one of the world, with the same quantities. */
static enum rc match_instruments(struct history *h)
{
    h->instruments = calloc(h->site->instrument_count + 1, sizeof *h->instruments);
    if (h->instruments == NULL)
        return RC_NOMEM;
    for (size_t i = 0; i < h->site->instrument_count; i++) {
        const struct site_instrument *in = &h->site->instruments[i];
        if (!instrument_by_name(in->name, &h->instruments[i])) {
            log_err("the studio has no instrument %s", in->name);
            return RC_BAD_INPUT;
        }
        const struct instrument *known = instrument_at(h->instruments[i]);
        for (size_t k = 0; k < in->read_count; k++) {
            if (instrument_channel(known, in->reads[k].quantity) == NULL) {
                log_err("instrument %s reads no %s", in->name,
                        quantity_info(in->reads[k].quantity)->name);
                return RC_BAD_INPUT;
            }
        }
    }
    return RC_OK;
}

static enum rc start_recorder(struct history *h, int64_t utc_s)
{
    struct recorder_cfg cfg = {.site = h->site, .commit_ms = COMMIT_MS};
    return recorder_open(&cfg, tick_of(h, utc_s), &h->recorder);
}

/* Puts one slot of an instrument: its values, or for each why there is none. */
static void put(struct history *h, size_t index, int64_t utc_s)
{
    const struct site_instrument *in = &h->site->instruments[index];
    struct reading readings[INSTRUMENT_CHANNELS_MAX];
    unsigned count = 0;
    bool silent = world_is_silent(h->world, h->instruments[index]);
    for (size_t k = 0; k < in->read_count && count < INSTRUMENT_CHANNELS_MAX; k++) {
        enum quantity q = in->reads[k].quantity;
        struct reading r = {.channel = recorder_channel(h->recorder, index, k), .t_s = utc_s};
        double value = 0.0;
        if (silent)
            r.gap = GAP_NO_ANSWER;
        else if (!world_read(h->world, h->instruments[index], q, utc_s, &value) ||
                 !quantity_encode(q, value, &r.value))
            r.gap = GAP_NO_VALUE;
        readings[count++] = r;
    }
    struct sink *sink = recorder_sink(h->recorder);
    sink->put(sink, readings, count);
    h->readings += count;
}

/* The recorder hangs on a small battery: a long cut of the mains stops it. */
static enum rc mind_power(struct history *h, int64_t utc_s)
{
    bool cut = world_happens(h->world, PLAN_MAINS, PLAN_BENCH);
    if (!cut)
        h->mains_lost_s = 0;
    else if (h->mains_lost_s == 0)
        h->mains_lost_s = utc_s;
    bool dark = cut && utc_s - h->mains_lost_s >= UPS_S;
    if (dark && h->recorder != NULL) {
        recorder_close(h->recorder, tick_of(h, utc_s));
        h->recorder = NULL;
    }
    return !dark && h->recorder == NULL ? start_recorder(h, utc_s) : RC_OK;
}

/* A person who acknowledges an alarm waits for the recorder's answer, so it takes two. */
struct hand {
    struct recorder *recorder; /* borrowed */
    int64_t occurrence;
    atomic_bool done;
};

static void *acknowledge(void *context)
{
    struct hand *hand = context;
    enum rc rc = recorder_alarm(hand->recorder, hand->occurrence, ALARM_ACKNOWLEDGE, 0,
                                "keyholder", "seen on the round");
    if (rc != RC_OK)
        log_warn("alarm %lld was not acknowledged: %s", (long long)hand->occurrence,
                 rc_text(rc));
    atomic_store(&hand->done, true);
    return NULL;
}

static enum rc see_alarm(struct history *h, int64_t occurrence, struct tick now)
{
    struct hand hand = {.recorder = h->recorder, .occurrence = occurrence};
    pthread_t thread;
    if (pthread_create(&thread, NULL, acknowledge, &hand) != 0)
        return RC_NOMEM;
    while (!atomic_load(&hand.done)) {
        recorder_step(h->recorder, now);
        sched_yield();
    }
    pthread_join(thread, NULL);
    return RC_OK;
}

/* On working days somebody looks through the alarms in the morning and in the evening. */
static enum rc make_round(struct history *h, int64_t utc_s)
{
    struct calendar_time local = calendar_local(utc_s);
    int round = local.minute >= EVENING_MIN   ? EVENING_MIN
                : local.minute >= MORNING_MIN ? MORNING_MIN
                                              : 0;
    bool begins = round != h->round && round != 0 && calendar_is_working(local.day);
    h->round = round;
    if (!begins)
        return RC_OK;
    struct tick now = tick_of(h, utc_s);
    struct live_alarm alarms[ALARMS_MAX];
    enum rc rc = recorder_flush(h->recorder, now);
    size_t count = live_alarms(recorder_live(h->recorder), alarms, ALARMS_MAX);
    for (size_t i = 0; i < count && rc == RC_OK; i++)
        if (alarms[i].state == ALARM_UNACKNOWLEDGED || alarms[i].state == ALARM_RETURNED)
            rc = see_alarm(h, alarms[i].id, now);
    return rc;
}

static int64_t end_s(const struct history *h)
{
    return h->to_s != 0 ? h->to_s : clock_utc_s(clock_now());
}

static void progress(const struct history *h, int64_t utc_s)
{
    char day[16];
    clock_day_text(clock_day_of(utc_s), day, sizeof day);
    fprintf(stderr, "\r%s  %3d %%", day,
            (int)(100 * (utc_s - h->from_s) / (end_s(h) - h->from_s + 1)));
}

static enum rc run(struct history *h, int step_s)
{
    bool terminal = isatty(STDERR_FILENO) != 0;
    for (int64_t t = h->from_s; t <= end_s(h); t += step_s) {
        world_advance(h->world, t);
        enum rc rc = mind_power(h, t);
        if (rc != RC_OK)
            return rc;
        if (h->recorder == NULL)
            continue;
        for (size_t i = 0; i < h->site->instrument_count; i++)
            if (t % h->site->instruments[i].every_s == 0)
                put(h, i, t);
        recorder_step(h->recorder, tick_of(h, t));
        rc = make_round(h, t);
        if (rc != RC_OK)
            return rc;
        if (terminal && t % CLOCK_DAY_S == 0)
            progress(h, t);
    }
    if (terminal)
        fputs("\r                    \r", stderr);
    return RC_OK;
}

/* The greatest step that meets every slot of every instrument. */
static int common_step_s(const struct site *site)
{
    int step_s = CLOCK_DAY_S;
    for (size_t i = 0; i < site->instrument_count; i++) {
        int a = site->instruments[i].every_s;
        while (a != 0) {
            int rest = step_s % a;
            step_s = a;
            a = rest;
        }
    }
    return step_s;
}

static enum rc write_past(struct history *h, const struct options *o)
{
    enum rc rc = read_site(h, o->site_path);
    if (rc == RC_OK)
        rc = match_instruments(h);
    if (rc != RC_OK)
        return rc;
    int step_s = common_step_s(h->site);
    h->from_s = o->from_s - o->from_s % step_s;
    h->to_s = o->to_s;
    struct world_cfg world = o->world;
    if (world.start_utc_s == 0)
        world.start_utc_s = h->from_s - (int64_t)60 * CLOCK_DAY_S;
    rc = world_open(&world, &h->world);
    if (rc == RC_OK)
        rc = start_recorder(h, h->from_s);
    if (rc == RC_OK)
        rc = run(h, step_s);
    return rc;
}

static void say_done(const struct history *h)
{
    char from[32], to[32];
    clock_utc_text(h->from_s, from, sizeof from);
    clock_utc_text(end_s(h), to, sizeof to);
    printf("%llu readings from %s to %s\n", (unsigned long long)h->readings, from, to);
}

int main(int argc, char **argv)
{
    struct options o = {.world.seed = 1};
    log_setup(LOG_LEVEL_ERR); /* that a sensor of the past fell silent is no news */
    int status = parse_options(argc, argv, &o);
    if (status >= 0)
        return status;
    struct history h = {0};
    enum rc rc = write_past(&h, &o);
    if (h.recorder != NULL)
        recorder_close(h.recorder, tick_of(&h, end_s(&h)));
    if (rc == RC_OK)
        rc = unsynced_end(h.site->store_path);
    if (rc == RC_OK)
        say_done(&h);
    else
        log_err("the past could not be written: %s", rc_text(rc));
    world_close(h.world);
    free(h.instruments);
    site_free(h.site);
    return rc == RC_OK ? EXIT_SUCCESS : rc == RC_BAD_INPUT ? EXIT_BAD_INPUT : EXIT_REFUSED;
}
