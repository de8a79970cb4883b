/* export.c - `stillroom export`: readings or rollups of a zone as CSV (RFC 4180). */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/clock.h"
#include "source/sink.h"
#include "store/series.h"
#include "tool/tool.h"

static const char usage[] =
    "usage: stillroom [--site FILE] export --zone ID [OPTION ...]\n"
    "Prints what was recorded in a zone as CSV: time (ISO 8601), a column a quantity, "
    "flags.\n\n"
    "  --zone ID         the zone, as in the site file\n"
    "  --from, --to      ISO 8601 dates or times; default: the last 24 hours\n"
    "  --step STEP       raw (default), 15m, 1h, 6h or 1d; means of that step\n"
    "  --quantity LIST   names with commas between; default: temperature,humidity\n"
    "  --utc             times in UTC; default: in the studio's zone\n"
    "  --help\n";

enum {
    QUANTITIES_MOST = QUANTITY_COUNT,
    DAY_POINTS = 4000
};

struct export
{
    const char *zone;
    uint32_t zone_id;
    int64_t from_s, to_s;
    int step_s; /* 0: raw */
    enum quantity quantities[QUANTITIES_MOST];
    size_t count;
    bool utc;
};

/* One day (or stretch) of one quantity, in order of time. */
struct column {
    struct store_value *values; /* owned */
    size_t count, cap, at;
};

static enum rc keep(void *context, int64_t t_s, int32_t value, unsigned flags)
{
    struct column *c = context;
    if (c->count == c->cap) {
        size_t cap = c->cap == 0 ? 2048 : 2 * c->cap;
        struct store_value *more = realloc(c->values, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        c->values = more;
        c->cap = cap;
    }
    c->values[c->count++] =
        (struct store_value){.t_s = t_s, .sum = value, .n = 1, .flags = flags};
    return RC_OK;
}

static int by_time(const void *a, const void *b)
{
    const struct store_value *x = a, *y = b;
    return x->t_s < y->t_s ? -1 : x->t_s > y->t_s ? 1 : 0;
}

/* Values of a series: rollups, or a derived quantity worked out for each reading. */
static enum rc read_series(struct reader *reader, const struct export *e, enum quantity q,
                           int64_t from_s, int64_t to_s, struct column *c)
{
    struct series s;
    int64_t points = e->step_s == 0 ? DAY_POINTS : (to_s - from_s) / e->step_s;
    enum rc rc = series_begin(&s, q, from_s, to_s, points < 2 ? 2 : (int)points,
                              e->step_s == 0 ? (int)(to_s - from_s) : 0);
    if (rc == RC_OK && e->step_s != 0)
        s.width_s = e->step_s;
    if (rc == RC_OK)
        rc = store_series_fill(reader, e->zone_id, &s);
    if (rc == RC_OK)
        rc = store_series_tail(reader, e->zone_id, &s);
    series_end(&s);
    for (size_t i = 0; rc == RC_OK && i < s.count; i++) {
        rc = keep(c, s.buckets[i].t_s, 0, 0);
        if (rc == RC_OK) {
            c->values[c->count - 1].sum = s.buckets[i].sum;
            c->values[c->count - 1].n = s.buckets[i].n;
        }
    }
    series_free(&s);
    return rc;
}

static enum rc read_column(struct reader *reader, const struct export *e, enum quantity q,
                           int64_t from_s, int64_t to_s, struct column *c)
{
    c->count = c->at = 0;
    bool raw = e->step_s == 0 && quantity_info(q)->kind != QUANTITY_DERIVED;
    enum rc rc = raw ? store_readings(reader, e->zone_id, q, from_s, to_s, keep, c)
                     : read_series(reader, e, q, from_s, to_s, c);
    if (rc == RC_OK && c->count > 1)
        qsort(c->values, c->count, sizeof *c->values, by_time);
    return rc;
}

static void print_value(enum quantity q, const struct store_value *v)
{
    /* The mean of a step, rounded half away from zero at the quantity's own power of ten. */
    int64_t twice = 2 * v->sum + (v->sum < 0 ? -v->n : v->n);
    int64_t mean = twice / (2 * v->n);
    printf("%.*f", quantity_info(q)->decimals, quantity_decode(q, mean));
}

static void print_flags(enum quantity q, unsigned flags, bool *first)
{
    static const char *const words[] = {"out_of_range", "jump",     "stuck",   "suspect",
                                        "clock",        "imported", "in_check"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if ((flags & (1U << i)) != 0) {
            printf("%s%s:%s", *first ? "" : " ", quantity_info(q)->name, words[i]);
            *first = false;
        }
    if ((flags & STORE_LATE) != 0) {
        printf("%s%s:late", *first ? "" : " ", quantity_info(q)->name);
        *first = false;
    }
}

static void print_row(const struct export *e, struct column *columns, int64_t t_s)
{
    char time[40];
    if (e->utc)
        clock_utc_text(t_s, time, sizeof time);
    else
        clock_local_text(t_s, time, sizeof time);
    fputs(time, stdout);
    const struct store_value *shown[QUANTITIES_MOST];
    for (size_t i = 0; i < e->count; i++) {
        struct column *c = &columns[i];
        shown[i] = c->at < c->count && c->values[c->at].t_s == t_s ? &c->values[c->at++] : NULL;
        putchar(',');
        if (shown[i] != NULL)
            print_value(e->quantities[i], shown[i]);
    }
    putchar(',');
    bool first = true;
    for (size_t i = 0; i < e->count; i++)
        if (shown[i] != NULL)
            print_flags(e->quantities[i], shown[i]->flags, &first);
    fputs("\r\n", stdout);
}

/* Rows of one stretch: the columns run side by side in order of time. */
static void print_rows(const struct export *e, struct column *columns)
{
    for (;;) {
        int64_t next = INT64_MAX;
        for (size_t i = 0; i < e->count; i++)
            if (columns[i].at < columns[i].count && columns[i].values[columns[i].at].t_s < next)
                next = columns[i].values[columns[i].at].t_s;
        if (next == INT64_MAX)
            return;
        print_row(e, columns, next);
    }
}

/* A day at a time, so that ten years need no more memory than one day. */
static enum rc print_all(struct reader *reader, const struct export *e)
{
    struct column columns[QUANTITIES_MOST] = {0};
    enum rc rc = RC_OK;
    fputs("time", stdout);
    for (size_t i = 0; i < e->count; i++)
        printf(",%s", quantity_info(e->quantities[i])->name);
    fputs(",flags\r\n", stdout);
    for (int64_t at = e->from_s; rc == RC_OK && at < e->to_s;) {
        int64_t end = (clock_day_of(at) + 1) * CLOCK_DAY_S;
        end = end < e->to_s ? end : e->to_s;
        for (size_t i = 0; rc == RC_OK && i < e->count; i++)
            rc = read_column(reader, e, e->quantities[i], at, end, &columns[i]);
        if (rc == RC_OK)
            print_rows(e, columns);
        at = end;
    }
    for (size_t i = 0; i < e->count; i++)
        free(columns[i].values);
    if (fflush(stdout) != 0)
        return RC_IO;
    return rc;
}

static bool parse_step(const char *text, int *out)
{
    static const struct {
        const char *word;
        int step_s;
    } steps[] = {{"raw", 0}, {"15m", 900}, {"1h", 3600}, {"6h", 21600}, {"1d", 86400}};
    for (size_t i = 0; i < sizeof steps / sizeof *steps; i++)
        if (strcmp(text, steps[i].word) == 0) {
            *out = steps[i].step_s;
            return true;
        }
    return false;
}

static int parse_quantities(char *list, struct export *e)
{
    e->count = 0;
    char *rest = NULL;
    for (char *word = strtok_r(list, ",", &rest); word != NULL;
         word = strtok_r(NULL, ",", &rest)) {
        enum quantity q;
        if (!quantity_by_name(word, &q)) {
            fprintf(stderr, "stillroom: there is no quantity \"%s\"; there are:", word);
            for (int i = 0; i < QUANTITY_COUNT; i++)
                fprintf(stderr, " %s", quantity_info((enum quantity)i)->name);
            fputc('\n', stderr);
            return TOOL_INPUT;
        }
        if (e->count == QUANTITIES_MOST)
            return tool_refuse("at most %d quantities at once", QUANTITIES_MOST);
        e->quantities[e->count++] = q;
    }
    return e->count == 0 ? tool_refuse("--quantity names none") : TOOL_DONE;
}

static int parse_time(const char *what, const char *text, int64_t *out)
{
    if (clock_parse(text, out))
        return TOOL_DONE;
    return tool_refuse("%s \"%s\" is not a time; allowed: 2026-11-25, 2026-11-25T07:18, with Z "
                       "or an offset such as +01:00 behind it",
                       what, text);
}

/* -1: go on, else the exit status. */
static int parse(int argc, char **argv, struct export *e)
{
    static const struct option options[] = {
        {"zone", required_argument, NULL, 'z'},     {"from", required_argument, NULL, 'f'},
        {"to", required_argument, NULL, 't'},       {"step", required_argument, NULL, 's'},
        {"quantity", required_argument, NULL, 'q'}, {"utc", no_argument, NULL, 'u'},
        {"help", no_argument, NULL, 'h'},           {NULL, 0, NULL, 0}};
    int bad = TOOL_DONE;
    optind = 0; /* the main has read options with other rules: begin anew */
    for (int c; bad == TOOL_DONE && (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 'z':
            e->zone = optarg;
            break;
        case 'f':
            bad = parse_time("--from", optarg, &e->from_s);
            break;
        case 't':
            bad = parse_time("--to", optarg, &e->to_s);
            break;
        case 's':
            if (!parse_step(optarg, &e->step_s))
                bad = tool_refuse("--step \"%s\" is not one of raw, 15m, 1h, 6h, 1d", optarg);
            break;
        case 'q':
            bad = parse_quantities(optarg, e);
            break;
        case 'u':
            e->utc = true;
            break;
        case 'h':
            fputs(usage, stdout);
            return TOOL_DONE;
        default:
            fputs(usage, stderr);
            return TOOL_USAGE;
        }
    }
    if (bad != TOOL_DONE)
        return bad;
    if (e->zone == NULL || optind < argc) {
        fputs(usage, stderr);
        return TOOL_USAGE;
    }
    if (e->from_s >= e->to_s)
        return tool_refuse("--from must lie before --to");
    return -1;
}

int export_main(const struct site *site, int argc, char **argv)
{
    int64_t now_s = clock_utc_s(clock_now());
    struct export e = {.from_s = now_s - CLOCK_DAY_S,
                       .to_s = now_s,
                       .quantities = {QUANTITY_TEMPERATURE, QUANTITY_HUMIDITY},
                       .count = 2};
    int status = parse(argc, argv, &e);
    if (status >= 0)
        return status;
    if (e.step_s != 0) { /* whole steps, so that each row is one of the kept means */
        e.from_s -= e.from_s % e.step_s;
        e.to_s += (e.step_s - e.to_s % e.step_s) % e.step_s;
    }
    struct reader *reader;
    enum rc rc = reader_open(site->store_path, &reader);
    if (rc != RC_OK) {
        tool_refuse("cannot read %s: %s", site->store_path, rc_text(rc));
        return TOOL_SYSTEM;
    }
    rc = tool_zone(reader, e.zone, &e.zone_id);
    if (rc == RC_OK) {
        rc = print_all(reader, &e);
        if (rc == RC_NOT_FOUND)
            tool_refuse("zone %s never recorded one of these quantities", e.zone);
        else if (rc != RC_OK)
            tool_refuse("the export stopped: %s", rc_text(rc));
    }
    reader_close(reader);
    return tool_exit_for(rc);
}
