/* backup.c - `stillroom backup FILE`: a whole copy while the daemon goes on recording. */
#define _GNU_SOURCE /* getopt_long */
#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "store/backup.h"
#include "tool/tool.h"

static const char usage[] =
    "usage: stillroom [--site FILE] backup FILE\n"
    "Copies the database whole and checks the copy; the daemon goes on recording meanwhile.\n"
    "FILE must not exist yet. The signing key is not in it: keep a copy of it elsewhere.\n";

int backup_main(const struct site *site, int argc, char **argv)
{
    static const struct option options[] = {{"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    optind = 0; /* the main has read options with other rules: begin anew */
    for (int c; (c = getopt_long(argc, argv, "", options, NULL)) != -1;) {
        fputs(usage, c == 'h' ? stdout : stderr);
        return c == 'h' ? TOOL_DONE : TOOL_USAGE;
    }
    if (argc - optind != 1) {
        fputs(usage, stderr);
        return TOOL_USAGE;
    }
    const char *to = argv[optind];
    if (access(to, F_OK) == 0)
        return tool_refuse("%s exists already; name a file that does not", to);
    enum rc rc = backup_write(site->store_path, to);
    if (rc != RC_OK) {
        tool_refuse("the copy was not made: %s", rc_text(rc));
        return TOOL_SYSTEM;
    }
    fprintf(stderr, "copied into %s and checked; the signing key %s is not in it\n", to,
            site->key_path);
    return TOOL_DONE;
}
