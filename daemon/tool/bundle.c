/* bundle.c - `stillroom bundle`: the evidence of some days, for somebody outside. */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "evidence/bundle.h"
#include "tool/evidence.h"
#include "tool/tool.h"

static const char usage[] =
    "usage: stillroom [--site FILE] bundle --from DATE --to DATE --out NAME [OPTION ...]\n"
    "Writes the signed days from DATE to DATE, both included, with all that they vouch for, "
    "the\n"
    "public key, and VERIFY.txt, by which a stranger checks it with coreutils and OpenSSL 3.\n"
    "Days are days of UTC. NAME is a folder, or a file that ends in .tar; it must not exist "
    "yet.\n\n"
    "  --from, --to     dates such as 2026-11-25\n"
    "  --out NAME       the folder or the .tar\n"
    "  --zone ID        only what was recorded in this zone\n"
    "  --stamp-request  with head.tsq, a request for a time stamp (RFC 3161), made by the\n"
    "                   openssl program; nothing is sent anywhere\n"
    "  --help\n";

static int parse_day(const char *what, const char *text, int64_t *out)
{
    if (clock_day_parse(text, out))
        return TOOL_DONE;
    return tool_refuse("%s \"%s\" is not a date such as 2026-11-25", what, text);
}

/* -1: go on, else the exit status. */
static int parse(int argc, char **argv, struct bundle_order *o)
{
    static const struct option options[] = {{"from", required_argument, NULL, 'f'},
                                            {"to", required_argument, NULL, 't'},
                                            {"out", required_argument, NULL, 'o'},
                                            {"zone", required_argument, NULL, 'z'},
                                            {"stamp-request", no_argument, NULL, 's'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    int bad = TOOL_DONE;
    bool from = false, to = false;
    optind = 1;
    for (int c; bad == TOOL_DONE && (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 'f':
            bad = parse_day("--from", optarg, &o->from);
            from = true;
            break;
        case 't':
            bad = parse_day("--to", optarg, &o->to);
            to = true;
            break;
        case 'o':
            o->out = optarg;
            break;
        case 'z':
            o->zone = optarg;
            break;
        case 's':
            o->stamp = true;
            break;
        default:
            fputs(usage, c == 'h' ? stdout : stderr);
            return c == 'h' ? TOOL_DONE : TOOL_USAGE;
        }
    }
    if (bad != TOOL_DONE)
        return bad;
    if (!from || !to || o->out == NULL || o->out[0] == '\0' || optind < argc) {
        fputs(usage, stderr);
        return TOOL_USAGE;
    }
    return o->from <= o->to ? -1 : tool_refuse("--from must not lie after --to");
}

static void say(const struct bundle_order *o, const struct facts *f)
{
    char first[16], last[16], from[16], to[16];
    const struct facts_day *head = &f->days[f->count - 1];
    clock_day_text(f->days[0].day, first, sizeof first);
    clock_day_text(head->day, last, sizeof last);
    clock_day_text(o->from, from, sizeof from);
    clock_day_text(o->to, to, sizeof to);
    fprintf(stderr, "%zu signed day%s, %s to %s, written to %s\n", f->count,
            f->count == 1 ? "" : "s", first, last, o->out);
    if (f->days[0].day > o->from)
        fprintf(stderr, "there is no signed day from %s on before %s\n", from, first);
    if (head->day < o->to)
        fprintf(
            stderr,
            "the days after %s up to %s are not in it: they are not closed and signed yet\n",
            last, to);
    fprintf(stderr, "head %s\n", head->digest);
    for (size_t i = 0; i < f->key_count; i++)
        fprintf(stderr, "key  %s\n", f->keys[i]);
    fputs("Give head and key to the recipient by another way than the bundle.\n", stderr);
}

int bundle_main(const struct site *site, int argc, char **argv)
{
    struct bundle_order order = {0};
    int status = parse(argc, argv, &order);
    if (status >= 0)
        return status;
    order.store_path = site->store_path;
    order.studio = site->studio;
    struct findings findings = {.tell = evidence_tell};
    struct facts facts = {0};
    enum rc rc = bundle_write(&order, &findings, &facts);
    if (rc != RC_OK) {
        tool_refuse("no bundle was made: %s", rc_text(rc));
        return rc == RC_CONFLICT ? TOOL_INPUT : tool_exit_for(rc);
    }
    say(&order, &facts);
    facts_free(&facts);
    return findings.count == 0 ? TOOL_DONE : TOOL_FINDING;
}
