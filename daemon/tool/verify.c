/* verify.c - `stillroom verify`: whether a bundle, or the store, is what was signed. */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/json.h"
#include "evidence/check.h"
#include "tool/evidence.h"
#include "tool/tool.h"

static const char usage[] =
    "usage: stillroom verify BUNDLE [OPTION ...]\n"
    "       stillroom [--site FILE] verify --store [OPTION ...]\n"
    "Holds a bundle (a folder or a .tar), or the whole store, against the signatures of its\n"
    "days, and names all that differs, a line each: kind, day, file, what.\n\n"
    "  --store        the store of the site file\n"
    "  --key-id HEX   the id or fingerprint of the studio's key, from another way than the\n"
    "                 bundle; once for each key if it was changed\n"
    "  --head HEX     the digest of a signed day, or its first 16 digits or more, that was\n"
    "                 lodged with you: that day must be there\n"
    "  --json         one object with all that was found\n"
    "  --help\n\n"
    "Exit status: 0 all as signed, 1 something differs.\n";

struct verify {
    const char *bundle;
    bool store, json;
    struct chain_known known;
};

void evidence_tell(void *context, const struct finding *f)
{
    FILE *to = context == NULL ? stderr : context;
    fprintf(to, "%s%s%s%s%s: %s\n", finding_kind_word(f->kind), f->day[0] == '\0' ? "" : " ",
            f->day, f->file[0] == '\0' ? "" : " ", f->file, f->words);
}

static void collect(void *context, const struct finding *f)
{
    json_array_append_new(context,
                          json_pack("{s:s,s:s,s:s,s:s}", "kind", finding_kind_word(f->kind),
                                    "day", f->day, "file", f->file, "what", f->words));
}

static bool is_hex(const char *text)
{
    size_t len = strlen(text);
    return len >= 16 && len <= 64 && strspn(text, "0123456789abcdefABCDEF") == len;
}

static int take_key(struct verify *v, const char *text)
{
    if (!is_hex(text))
        return tool_refuse("--key-id \"%s\" is not 16 to 64 hexadecimal digits", text);
    if (v->known.key_count == CHAIN_KEYS)
        return tool_refuse("at most %d keys", CHAIN_KEYS);
    v->known.keys[v->known.key_count++] = text;
    return TOOL_DONE;
}

static int take_head(struct verify *v, const char *text)
{
    v->known.head = text;
    return is_hex(text) ? TOOL_DONE
                        : tool_refuse("--head \"%s\" is not 16 to 64 hexadecimal digits", text);
}

/* -1: go on, else the exit status. */
static int parse(const struct site *site, int argc, char **argv, struct verify *v)
{
    static const struct option options[] = {
        {"store", no_argument, NULL, 's'},      {"key-id", required_argument, NULL, 'k'},
        {"head", required_argument, NULL, 'd'}, {"json", no_argument, NULL, 'j'},
        {"help", no_argument, NULL, 'h'},       {NULL, 0, NULL, 0}};
    int bad = TOOL_DONE;
    optind = 0; /* not 1: the tool's main has told getopt to stop at the first word */
    for (int c; bad == TOOL_DONE && (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        switch (c) {
        case 's':
            v->store = true;
            break;
        case 'k':
            bad = take_key(v, optarg);
            break;
        case 'd':
            bad = take_head(v, optarg);
            break;
        case 'j':
            v->json = true;
            break;
        default:
            fputs(usage, c == 'h' ? stdout : stderr);
            return c == 'h' ? TOOL_DONE : TOOL_USAGE;
        }
    }
    if (bad != TOOL_DONE)
        return bad;
    /* A site file is read for --store in full only, not for its beginning. */
    if (argc - optind != (v->store ? 0 : 1) || (v->store && site == NULL)) {
        fputs(usage, stderr);
        return TOOL_USAGE;
    }
    v->bundle = v->store ? NULL : argv[optind];
    return -1;
}

static void print_summary(const struct verify *v, const struct check_seen *seen,
                          size_t findings)
{
    const struct chain *c = &seen->chain;
    char first[16], last[16];
    if (c->days == 0) {
        puts(v->store && findings == 0 ? "No day is signed yet." : "No signed day.");
        return;
    }
    clock_day_text(c->first_day, first, sizeof first);
    clock_day_text(c->last.day, last, sizeof last);
    printf("%s: %zu signed day%s, %s to %s, numbers %lld to %lld, head %s, key",
           findings == 0 ? "All as signed" : "NOT as signed", c->days, c->days == 1 ? "" : "s",
           first, last, (long long)c->first_number, (long long)c->last.number, c->last_hex);
    for (size_t i = 0; i < c->key_count; i++)
        printf(" %.16s", c->keys[i]);
    if (seen->zone[0] != '\0')
        printf(", only zone %s", seen->zone);
    putchar('\n');
    if (v->known.key_count == 0)
        fputs("Compare the key with the one you were given by another way: with --key-id this "
              "does it.\n",
              stderr);
    if (v->known.head == NULL)
        fputs("Compare the head with one that was lodged: with --head this does it.\n", stderr);
}

static json_t *day_text(const struct chain *c, int64_t day)
{
    char text[16];
    clock_day_text(day, text, sizeof text);
    return c->days == 0 ? json_null() : json_string(text);
}

static void print_json(const struct verify *v, const struct check_seen *seen, json_t *list)
{
    const struct chain *c = &seen->chain;
    json_t *keys = json_array();
    for (size_t i = 0; i < c->key_count; i++)
        json_array_append_new(keys, json_string(c->keys[i]));
    json_t *all = json_pack(
        "{s:b,s:s?,s:I,s:o,s:o,s:s?,s:o,s:b,s:b,s:O}", "as_signed", json_array_size(list) == 0,
        "zone", seen->zone[0] == '\0' ? NULL : seen->zone, "days", (json_int_t)c->days, "from",
        day_text(c, c->first_day), "to", day_text(c, c->last.day), "head",
        c->days == 0 ? NULL : c->last_hex, "keys", keys, "key_compared", v->known.key_count > 0,
        "head_compared", v->known.head != NULL, "findings", list);
    json_dumpf(all, stdout, JSON_INDENT(2));
    putchar('\n');
    json_decref(all);
}

int verify_main(const struct site *site, int argc, char **argv)
{
    struct verify v = {0};
    int status = parse(site, argc, argv, &v);
    if (status >= 0)
        return status;
    json_t *list = v.json ? json_array() : NULL;
    struct findings findings = {.tell = v.json ? collect : evidence_tell,
                                .context = v.json ? (void *)list : (void *)stdout};
    struct check_seen seen;
    enum rc rc = v.store ? check_store(site->store_path, &v.known, &findings, &seen)
                         : check_bundle(v.bundle, &v.known, &findings, &seen);
    if (rc != RC_OK)
        tool_refuse("the check was not finished: %s", rc_text(rc));
    else if (v.json)
        print_json(&v, &seen, list);
    else
        print_summary(&v, &seen, findings.count);
    json_decref(list);
    if (rc != RC_OK)
        return tool_exit_for(rc);
    return findings.count == 0 ? TOOL_DONE : TOOL_FINDING;
}
