/* build_recipients.c - who is told: [person NAME], [webhook NAME], [command NAME], and [mail]. */
#include <string.h>

#include "site/build.h"
#include "site/field.h"

enum {
    TELL_MAX = 16,
    ARGUMENTS_MAX = 32
};

static const enum section sections[] = {SECTION_PERSON, SECTION_WEBHOOK, SECTION_COMMAND};

bool site_reachable(const struct site *site, const struct site_recipient *recipient)
{
    return recipient->kind != RECIPIENT_PERSON ||
           (recipient->mail != NULL && site->mail.host != NULL);
}

const struct site_recipient *site_recipient(const struct site *site, const char *name)
{
    for (size_t i = 0; i < site->recipient_count; i++)
        if (strcmp(site->recipients[i].name, name) == 0)
            return &site->recipients[i];
    return NULL;
}

static bool mail_address(const char *text)
{
    const char *at = strchr(text, '@');
    return at != NULL && at != text && at[1] != '\0' && strchr(at + 1, '@') == NULL &&
           strpbrk(text, " \t,;<>\"") == NULL;
}

static void address(const struct draft *d, const struct draft_section *s, const char *key,
                    const char **out)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e != NULL && !mail_address(e->value))
        field_refuse(d, s, e, "one address, name@host");
    else if (e != NULL)
        *out = e->value;
}

/* The daemon's folder is nobody's business: a path begins at the root. */
static void path(const struct draft *d, const struct draft_section *s, const char *key,
                 const char **out)
{
    const struct draft_entry *e = field_entry(s, key);
    if (e != NULL && e->value[0] != '/')
        field_refuse(d, s, e, "a path from the root, as /etc/stillroom/%s", key);
    else if (e != NULL)
        *out = e->value;
}

static void webhook(const struct draft *d, const struct draft_section *s,
                    struct site_recipient *r)
{
    field_required(d, s, "url", "https://host/path");
    const struct draft_entry *e = field_entry(s, "url");
    if (e != NULL && (strncmp(e->value, "https://", 8) == 0  ? strlen(e->value) == 8
                      : strncmp(e->value, "http://", 7) == 0 ? strlen(e->value) == 7
                                                             : true))
        field_refuse(d, s, e, "https://host/path, or http:// within the house");
    else if (e != NULL)
        r->url = e->value;
    path(d, s, "secret_file", &r->secret_file);
}

/* Words as they stand: no shell is asked, so there are no quotes and no variables. */
static void command(struct draft *d, const struct draft_section *s, struct site_recipient *r)
{
    const char *program = NULL;
    field_required(d, s, "path", "/usr/local/bin/tell");
    path(d, s, "path", &program);
    const char **list = arena_new(d->arena, ARGUMENTS_MAX + 2, sizeof *list);
    if (list == NULL)
        return; /* remembered by the arena */
    list[0] = program;
    r->arguments = list;
    const struct draft_entry *e = field_entry(s, "arguments");
    if (e == NULL)
        return;
    char *words[ARGUMENTS_MAX];
    size_t n =
        field_split(arena_str(d->arena, e->value, strlen(e->value)), words, ARGUMENTS_MAX);
    if (n > ARGUMENTS_MAX)
        field_refuse(d, s, e, "up to %d words", (int)ARGUMENTS_MAX);
    for (size_t i = 0; i < n && i < ARGUMENTS_MAX; i++)
        list[i + 1] = words[i];
}

static void mail(struct build *b, const struct draft_section *s)
{
    static const char *const words[] = {"none", "starttls", "tls", NULL};
    const struct draft *d = &b->draft;
    struct site_mail *m = &b->site->mail;
    int security = MAIL_STARTTLS;
    field_required(d, s, "server", "mail.studio.example:587");
    field_required(d, s, "from", "stillroom@studio.example");
    field_address(d, s, "server", NULL, "host:port", &m->host, &m->port);
    field_word(d, s, "security", words, &security);
    m->security = (enum site_mail_security)security;
    address(d, s, "from", &m->from);
    field_text(d, s, "user", &m->user);
    path(d, s, "password_file", &m->password_file);
    path(d, s, "ca_file", &m->ca_file);
    const struct draft_entry *e = field_entry(s, "user");
    if (e != NULL && draft_entry(s, "password_file") == NULL)
        mistakes_add(d->mistakes, e->line,
                     "user in [mail] without a password; allowed: password_file = path of a "
                     "file that holds it");
    /* A password on an open line is everybody's. */
    if (e != NULL && m->security == MAIL_NONE && m->host != NULL && !build_own_machine(m->host))
        mistakes_add(d->mistakes, e->line,
                     "user in [mail] with security = none; allowed: starttls or tls, or a "
                     "server on this machine");
}

/* `tell` means one of them, so no name may mean two. */
static void check_names(const struct build *b)
{
    const struct site *site = b->site;
    for (size_t i = 0; i < site->recipient_count; i++) {
        const struct site_recipient *r = &site->recipients[i];
        const struct site_recipient *first = site_recipient(site, r->name);
        if (first != r)
            mistakes_add(b->draft.mistakes, r->line > first->line ? r->line : first->line,
                         "the name \"%s\" again, as in line %d; allowed: a name of its own for "
                         "each person, webhook and command",
                         r->name, r->line > first->line ? first->line : r->line);
    }
}

void build_recipients(struct build *b)
{
    struct draft *d = &b->draft;
    struct site_recipient *r = b->recipients;
    for (int kind = RECIPIENT_PERSON; kind <= RECIPIENT_COMMAND; kind++)
        for (const struct draft_section *s = draft_next(d, sections[kind], NULL); s != NULL;
             s = draft_next(d, sections[kind], s), r++) {
            r->name = s->name;
            r->line = s->line;
            r->kind = (enum site_recipient_kind)kind;
            if (kind == RECIPIENT_PERSON)
                address(d, s, "mail", &r->mail);
            else if (kind == RECIPIENT_WEBHOOK)
                webhook(d, s, r);
            else
                command(d, s, r);
        }
    check_names(b);
    const struct draft_section *s = draft_next(d, SECTION_MAIL, NULL);
    if (s != NULL)
        mail(b, s);
}

static void refuse_tell(const struct build *b, const struct draft_section *s,
                        const struct draft_entry *e)
{
    struct buf names = {0};
    for (size_t i = 0; i < b->site->recipient_count; i++)
        buf_printf(&names, "%s%s", i > 0 ? ", " : "", b->recipients[i].name);
    field_refuse(&b->draft, s, e,
                 "nobody, or NAMEs of sections [person NAME], [webhook NAME] and [command "
                 "NAME], parted by commas: %s",
                 names.len > 0 && !names.failed ? names.data : "none");
    buf_free(&names);
}

/* The recipients a value names, each once; false if it names one that there is not. */
static bool find_all(struct build *b, const char *value, const struct site_recipient **list,
                     size_t *out_count)
{
    char *text = arena_str(b->draft.arena, value, strlen(value));
    char *words[TELL_MAX];
    for (char *c = text; *c != '\0'; c++)
        if (*c == ',')
            *c = ' ';
    size_t n = field_split(text, words, TELL_MAX), count = 0;
    for (size_t i = 0; i < n && n <= TELL_MAX; i++) {
        const struct site_recipient *found = site_recipient(b->site, words[i]);
        if (found == NULL)
            return false;
        bool again = false;
        for (size_t k = 0; k < count; k++)
            again = again || list[k] == found;
        if (!again)
            list[count++] = found;
    }
    *out_count = count;
    return n > 0 && n <= TELL_MAX;
}

void build_tell(struct build *b, const struct draft_section *s,
                const struct site_recipient ***out, size_t *out_count)
{
    const struct draft_entry *e = s != NULL ? field_entry(s, "tell") : NULL;
    bool only = b->draft.count[SECTION_PERSON] == 1 && (s == NULL || s->kind == SECTION_STUDIO);
    if (e == NULL && !only)
        return;
    const struct site_recipient **list = arena_new(b->draft.arena, TELL_MAX, sizeof *list);
    if (list == NULL)
        return; /* remembered by the arena */
    size_t count = 0;
    if (e == NULL)
        list[count++] = &b->recipients[0];
    else if (strcmp(e->value, "nobody") != 0 && !find_all(b, e->value, list, &count))
        refuse_tell(b, s, e);
    *out = count > 0 ? list : NULL;
    *out_count = count;
}
