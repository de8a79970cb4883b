/* probe.c - see probe.h. */
#define _GNU_SOURCE /* getopt_long */
#include "tool/probe.h"

#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "base/json.h"
#include "base/log.h"
#include "source/decode.h"
#include "tool/survey.h"
#include "tool/tool.h"

static const char usage[] =
    "usage: stillroom [--site FILE] probe BUS [OPTION ...]\n"
    "Asks which units answer on a bus of the site file, and prints what their registers hold.\n"
    "It only reads. A serial line is left alone while stillroomd or another program holds it;\n"
    "through a TCP gateway it asks beside the daemon.\n\n"
    "  --units A-B      units to look for (default 1-32; one number is one unit)\n"
    "  --table NAME     coil, discrete, input or holding; may be given again\n"
    "                   (default input and holding)\n"
    "  --address N      first register, counted from 0 (default 0)\n"
    "  --count N        registers of each table, 1 to 100 (default 16)\n"
    "  --timeout MS     how long to wait for an answer, 20 to 5000 (default: the bus's)\n"
    "  --json, --help\n";

static const char *const table_words[SURVEY_TABLES] = {[TABLE_COIL] = "coil",
                                                       [TABLE_DISCRETE] = "discrete",
                                                       [TABLE_INPUT] = "input",
                                                       [TABLE_HOLDING] = "holding"};

struct options {
    const char *bus;
    struct survey_plan plan;
    bool table_given, as_json;
};

static bool number(const char *text, int least, int most, int *out)
{
    char *end;
    long v = strtol(text, &end, 10);
    if (end == text || *end != '\0' || v < least || v > most)
        return false;
    *out = (int)v;
    return true;
}

static bool take_units(const char *text, struct survey_plan *plan)
{
    char first[16];
    const char *dash = strchr(text, '-');
    size_t len = dash == NULL ? strlen(text) : (size_t)(dash - text);
    if (len >= sizeof first)
        return false;
    memcpy(first, text, len);
    first[len] = '\0';
    return number(first, 0, 255, &plan->first_unit) &&
           number(dash == NULL ? first : dash + 1, plan->first_unit, 255, &plan->last_unit);
}

static bool take_table(const char *text, struct options *o)
{
    for (int t = 0; t < SURVEY_TABLES; t++)
        if (strcmp(text, table_words[t]) == 0) {
            if (!o->table_given)
                memset(o->plan.tables, 0, sizeof o->plan.tables);
            return o->table_given = o->plan.tables[t] = true;
        }
    return false;
}

/* TOOL_DONE, or what to exit with after a word on stderr. */
static int take_option(int c, struct options *o)
{
    int v = 0;
    switch (c) {
    case 'u':
        return take_units(optarg, &o->plan)
                   ? TOOL_DONE
                   : tool_refuse("--units %s: a number or A-B, from 0 to 255", optarg);
    case 't':
        return take_table(optarg, o)
                   ? TOOL_DONE
                   : tool_refuse("--table %s: coil, discrete, input or holding", optarg);
    case 'a':
        if (!number(optarg, 0, 65535, &v))
            return tool_refuse("--address %s: 0 to 65535", optarg);
        o->plan.address = (uint16_t)v;
        return TOOL_DONE;
    case 'n':
        if (!number(optarg, 1, SURVEY_COUNT_MAX, &v))
            return tool_refuse("--count %s: 1 to %d", optarg, SURVEY_COUNT_MAX);
        o->plan.count = (uint16_t)v;
        return TOOL_DONE;
    case 'w':
        return number(optarg, 20, 5000, &o->plan.response_ms)
                   ? TOOL_DONE
                   : tool_refuse("--timeout %s: 20 to 5000 ms", optarg);
    case 'j':
        o->as_json = true;
        return TOOL_DONE;
    default:
        fputs(usage, stderr);
        return TOOL_USAGE;
    }
}

/* False: leave with *status. */
static bool take_options(int argc, char **argv, struct options *o, int *status)
{
    static const struct option options[] = {
        {"units", required_argument, NULL, 'u'},   {"table", required_argument, NULL, 't'},
        {"address", required_argument, NULL, 'a'}, {"count", required_argument, NULL, 'n'},
        {"timeout", required_argument, NULL, 'w'}, {"json", no_argument, NULL, 'j'},
        {"help", no_argument, NULL, 'h'},          {NULL, 0, NULL, 0}};
    optind = 0; /* not 1: the tool's main has told getopt to stop at the first word */
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        if (c == 'h') {
            fputs(usage, stdout);
            *status = TOOL_DONE;
            return false;
        }
        if ((*status = take_option(c, o)) != TOOL_DONE)
            return false;
    }
    if (optind + 1 != argc) {
        fputs(usage, stderr);
        *status = TOOL_USAGE;
        return false;
    }
    o->bus = argv[optind];
    if (o->plan.address + o->plan.count > 65536) {
        *status = tool_refuse("registers end at 65535: take a smaller --address or --count");
        return false;
    }
    return true;
}

static const struct site_bus *find_bus(const struct site *site, const char *name)
{
    struct buf names = {0};
    for (size_t i = 0; i < site->bus_count; i++) {
        if (strcmp(site->buses[i].name, name) == 0) {
            buf_free(&names);
            return &site->buses[i];
        }
        buf_printf(&names, "%s%s", names.len > 0 ? ", " : "", site->buses[i].name);
    }
    tool_refuse("%s has no bus \"%s\"; it has: %s", site->path, name,
                names.data == NULL ? "none" : names.data);
    buf_free(&names);
    return NULL;
}

/* The instrument that the site file has for a unit; NULL if none. */
static const char *known_as(const struct site *site, const struct site_bus *bus, int unit)
{
    for (size_t i = 0; i < site->instrument_count; i++)
        if (site->instruments[i].bus == bus && site->instruments[i].unit == unit)
            return site->instruments[i].name;
    return NULL;
}

/* --- words --- */

static bool of_bits(int table)
{
    return table == TABLE_COIL || table == TABLE_DISCRETE;
}

static void print_register(const struct survey_plan *plan, const struct survey_table *table,
                           uint16_t i)
{
    uint16_t word = table->words[i];
    printf("    %5u  0x%04x  %6u  %6d", (unsigned)plan->address + i, word, word,
           word < 0x8000 ? word : word - 0x10000);
    /* A float shows itself: the right order gives a number of a plausible size. */
    if (i + 1 < plan->count && table->there[i + 1])
        printf("  %13.6g  %13.6g", decode_raw(TYPE_FLOAT32, WORDS_ABCD, table->words + i),
               decode_raw(TYPE_FLOAT32, WORDS_CDAB, table->words + i));
    putchar('\n');
}

static void print_table(const struct survey_plan *plan, const struct survey_table *table,
                        int which)
{
    if (table->gap == GAP_EXCEPTION) {
        printf("  %s: refused with exception %d\n", table_words[which], table->detail);
        return;
    }
    if (table->gap != GAP_NONE) {
        printf("  %s: %s\n", table_words[which], gap_reason_text(table->gap));
        return;
    }
    printf("  %s\n", table_words[which]);
    if (!of_bits(which))
        puts("  address     hex  uint16   int16   float32 abcd   float32 cdab");
    for (uint16_t i = 0; i < plan->count; i++)
        if (table->there[i] && of_bits(which))
            printf("    %5u  %u\n", (unsigned)plan->address + i, table->words[i]);
        else if (table->there[i])
            print_register(plan, table, i);
}

static void print_unit(const struct survey_plan *plan, const struct survey_unit *unit,
                       const char *name)
{
    printf("unit %d%s%s\n", unit->unit, name == NULL ? "" : ", ", name == NULL ? "" : name);
    for (int t = 0; t < SURVEY_TABLES; t++)
        if (unit->tables[t].asked)
            print_table(plan, &unit->tables[t], t);
}

/* --- JSON --- */

static json_t *json_table(const struct survey_plan *plan, const struct survey_table *table,
                          int which)
{
    json_t *registers = json_array();
    for (uint16_t i = 0; i < plan->count; i++)
        if (table->there[i])
            json_array_append_new(registers,
                                  json_pack("{s:i, s:i}", "address", plan->address + i, "value",
                                            table->words[i]));
    json_t *out = json_pack("{s:s, s:o}", "table", table_words[which], "registers", registers);
    if (table->gap != GAP_NONE)
        json_object_set_new(out, "gap", json_string(gap_reason_word(table->gap)));
    if (table->gap == GAP_EXCEPTION)
        json_object_set_new(out, "exception", json_integer(table->detail));
    return out;
}

static json_t *json_unit(const struct survey_plan *plan, const struct survey_unit *unit,
                         const char *name)
{
    json_t *tables = json_array();
    for (int t = 0; t < SURVEY_TABLES; t++)
        if (unit->tables[t].asked)
            json_array_append_new(tables, json_table(plan, &unit->tables[t], t));
    return json_pack("{s:i, s:s?, s:o}", "unit", unit->unit, "instrument", name, "tables",
                     tables);
}

/* --- the survey --- */

static void progress(const struct survey_plan *plan, int unit)
{
    if (!isatty(STDERR_FILENO))
        return;
    fprintf(stderr, "\runit %d of %d to %d ", unit, plan->first_unit, plan->last_unit);
    if (unit == plan->last_unit)
        fputs("\r                              \r", stderr);
}

static int survey(const struct site *site, const struct site_bus *bus, struct line *line,
                  const struct options *o)
{
    json_t *found = json_array();
    int count = 0, strange = 0;
    for (int u = o->plan.first_unit; u <= o->plan.last_unit; u++) {
        progress(&o->plan, u);
        enum gap_reason gap = survey_find(line, &o->plan, u);
        if (gap == GAP_NO_DEVICE) {
            json_decref(found);
            tool_refuse("bus %s: %s", bus->name, line_fault(line));
            return TOOL_SYSTEM;
        }
        strange += gap == GAP_GARBLED || gap == GAP_WRONG_UNIT ? 1 : 0;
        if (gap != GAP_NONE && gap != GAP_EXCEPTION)
            continue;
        struct survey_unit unit;
        survey_read(line, &o->plan, u, &unit);
        count++;
        if (o->as_json)
            json_array_append_new(found, json_unit(&o->plan, &unit, known_as(site, bus, u)));
        else
            print_unit(&o->plan, &unit, known_as(site, bus, u));
    }
    if (o->as_json) {
        struct buf text = {0};
        json_t *all = json_pack("{s:s, s:i, s:i, s:O}", "bus", bus->name, "from",
                                o->plan.first_unit, "to", o->plan.last_unit, "units", found);
        json_put(&text, all);
        puts(text.data == NULL ? "" : text.data);
        buf_free(&text);
        json_decref(all);
    }
    json_decref(found);
    fprintf(stderr, "%d of %d units answered.\n", count,
            o->plan.last_unit - o->plan.first_unit + 1);
    if (strange > 0)
        fprintf(stderr,
                "%d answers were garbled or came from another unit: a longer --timeout, or the "
                "speed and parity of the bus, may be what is missing.\n",
                strange);
    return TOOL_DONE;
}

int probe_main(const struct site *site, int argc, char **argv)
{
    struct options o = {.plan = {.first_unit = 1,
                                 .last_unit = 32,
                                 .tables = {[TABLE_INPUT] = true, [TABLE_HOLDING] = true},
                                 .count = 16}};
    int status = TOOL_DONE;
    if (!take_options(argc, argv, &o, &status))
        return status;
    const struct site_bus *bus = find_bus(site, o.bus);
    if (bus == NULL)
        return TOOL_INPUT;
    if (bus->kind == BUS_MODBUS_RTU && (o.plan.first_unit < 1 || o.plan.last_unit > 247))
        return tool_refuse("--units: a serial line has units 1 to 247");
    if (o.plan.response_ms == 0)
        o.plan.response_ms = bus->response_ms;
    log_setup(LOG_LEVEL_ERR); /* what goes wrong with the line is said below, once */
    struct line *line;
    if (line_new(bus, -1, &line) != RC_OK)
        return TOOL_SYSTEM;
    enum gap_reason why;
    if (line_ready(line, &why)) {
        status = survey(site, bus, line, &o);
    } else {
        tool_refuse("bus %s cannot be asked: %s%s", bus->name, line_fault(line),
                    line_taken(line) ? "; stop stillroomd first, since two masters on one "
                                       "line hear each other's answers"
                                     : "");
        status = TOOL_SYSTEM;
    }
    line_free(line);
    return status;
}
