/* tool.h - what the subcommands of `stillroom` share.
 *
 * Data goes to stdout, talk to stderr. Exit status: 0 done, 1 a finding, 2 usage, 3 bad input,
 * 4 the system refused (file, database, network).
 */
#ifndef TOOL_TOOL_H
#define TOOL_TOOL_H

#include "base/rc.h"
#include "site/site.h"

enum tool_exit {
    TOOL_DONE = 0,
    TOOL_FINDING = 1,
    TOOL_USAGE = 2,
    TOOL_INPUT = 3,
    TOOL_SYSTEM = 4,
};

/* What a code means to a shell. */
int tool_exit_for(enum rc rc);

/* A subcommand: argv[0] is its name. `site` is NULL for those that need none. */
struct tool_command {
    const char *name;
    const char *does; /* one line of the list of commands; NULL: not for people */
    int (*run)(const struct site *site, int argc, char **argv);
    bool needs_site;
    const char *site_option; /* the option that makes it need one all the same, or NULL */
};

int export_main(const struct site *site, int argc, char **argv);
int status_main(const struct site *site, int argc, char **argv);
int backup_main(const struct site *site, int argc, char **argv);

/* Says on stderr what is wrong with an argument, and returns TOOL_INPUT. */
int tool_refuse(const char *format, ...) __attribute__((format(printf, 1, 2)));

/* A zone of the database by its name: RC_NOT_FOUND is said on stderr with the names there are. */
struct reader;
MUST_USE enum rc tool_zone(struct reader *reader, const char *name, uint32_t *out_id);

#endif
