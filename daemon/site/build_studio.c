/* build_studio.c - [studio], [store] and [http]. */
#include <arpa/inet.h>
#include <netinet/in.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "site/build.h"
#include "site/field.h"
#include "site/hours.h"

/* Looked up only, never set: a reload must not change the process's zone before it is sound. */
static bool zone_known(const char *name)
{
    if (strcmp(name, "UTC") == 0)
        return true;
    if (name[0] == '/' || strstr(name, "..") != NULL || strlen(name) > 64 ||
        strspn(name, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789/_+-") !=
            strlen(name))
        return false;
    char path[128];
    struct stat st;
    (void)snprintf(path, sizeof path, "/usr/share/zoneinfo/%s", name);
    return stat(path, &st) == 0 && S_ISREG(st.st_mode);
}

static void studio(struct build *b, const struct draft_section *s)
{
    static const char *const clocks[] = {"checked", "trusted", NULL};
    const struct draft *d = &b->draft;
    struct site *site = b->site;
    int clock = 0;

    field_text(d, s, "name", &site->studio);
    const struct draft_entry *e = field_entry(s, "timezone");
    if (e != NULL && !zone_known(e->value))
        field_refuse(d, s, e, "a zone that this system knows, as Europe/London or UTC");
    else if (e != NULL)
        site->timezone = e->value;
    field_double(d, s, "altitude_m", -430, 6000, &site->altitude_m);
    e = field_entry(s, "working_hours");
    if (e != NULL && !hours_parse(e->value, site))
        field_refuse(d, s, e,
                     "days and a span, as \"Mo-Fr 08:30-18:00\" or \"Mo,We-Sa 9:00-17:00\"");
    else if (e != NULL)
        site->working_hours = e->value;
    field_yes_no(d, s, "demo", &site->demo);
    if (field_word(d, s, "clock", clocks, &clock))
        site->clock_trusted = clock == 1;
    field_yes_no(d, s, "defaults", &b->defaults);
}

static void names(struct build *b, const struct draft_section *s)
{
    enum {
        NAMES_MAX = 16
    };
    const struct draft_entry *e = field_entry(s, "names");
    const char **list = arena_new(b->draft.arena, NAMES_MAX + 1, sizeof *list);
    if (list == NULL)
        return; /* remembered by the arena */
    b->site->http_names = list;
    if (e == NULL)
        return;
    char *text = arena_str(b->draft.arena, e->value, strlen(e->value));
    for (char *c = text; *c != '\0'; c++)
        if (*c == ',')
            *c = ' ';
    char *words[NAMES_MAX];
    size_t n = field_split(text, words, NAMES_MAX);
    bool good = n > 0 && n <= NAMES_MAX;
    for (size_t i = 0; good && i < n; i++) {
        good = strspn(words[i], "abcdefghijklmnopqrstuvwxyz0123456789.-") == strlen(words[i]);
        list[i] = words[i];
    }
    if (!good)
        field_refuse(&b->draft, s, e,
                     "up to %d host names in small letters, without port, parted by commas",
                     (int)NAMES_MAX);
}

bool build_own_machine(const char *host)
{
    struct in_addr v4;
    struct in6_addr v6;
    if (strcmp(host, "localhost") == 0)
        return true;
    if (inet_pton(AF_INET, host, &v4) == 1)
        return ntohl(v4.s_addr) >> 24 == IN_LOOPBACKNET;
    return inet_pton(AF_INET6, host, &v6) == 1 && IN6_IS_ADDR_LOOPBACK(&v6);
}

/* What the server would refuse is refused here, where a reload can still keep the old file. */
static void http(struct build *b, const struct draft_section *s)
{
    const struct draft_entry *e = field_entry(s, "listen");
    if (e != NULL && strcmp(e->value, "none") == 0)
        b->site->http_off = true;
    else if (field_address(&b->draft, s, "listen", NULL, "none, host:port, [IPv6]:port",
                           &b->site->http_host, &b->site->http_port) &&
             !build_own_machine(b->site->http_host))
        field_refuse(&b->draft, s, e,
                     "an address of this machine's own, 127.0.0.1:8620, [::1]:8620 or "
                     "localhost:8620, for this version has no sessions");
    if (field_yes_no(&b->draft, s, "behind_proxy", &b->site->behind_proxy) &&
        b->site->behind_proxy)
        field_refuse(&b->draft, s, field_entry(s, "behind_proxy"),
                     "no, for this version has no sessions");
    names(b, s);
}

void build_studio(struct build *b)
{
    static const char *const no_names[] = {NULL};
    const struct draft *d = &b->draft;
    struct site *site = b->site;
    site->studio = "Studio";
    site->timezone = "UTC";
    site->store_path = "/var/lib/stillroom/stillroom.db";
    site->http_host = "127.0.0.1";
    site->http_port = "8620";
    site->http_names = no_names;
    b->defaults = true;
    hours_default(site);

    const struct draft_section *s = draft_next(d, SECTION_STUDIO, NULL);
    if (s != NULL)
        studio(b, s);
    build_tell(b, s, &b->tell, &b->tell_count);
    s = draft_next(d, SECTION_STORE, NULL);
    if (s != NULL) {
        field_text(d, s, "path", &site->store_path);
        field_text(d, s, "key_file", &site->key_path);
    }
    if (site->key_path == NULL)
        site->key_path = arena_printf(d->arena, "%s.key", site->store_path);
    s = draft_next(d, SECTION_HTTP, NULL);
    if (s != NULL)
        http(b, s);
}
