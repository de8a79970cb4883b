/* stillroom.c - the command-line tool's main: finds the command and hands over. */
#define _GNU_SOURCE /* getopt_long */
#include <getopt.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"
#include "base/log.h"
#include "tool/calc.h"
#include "tool/deliver.h"
#include "tool/evidence.h"
#include "tool/probe.h"
#include "tool/tool.h"
#include "version.h"

static int run_calc(const struct site *site, int argc, char **argv)
{
    (void)site; /* calculates from what it is told */
    return calc_main(argc, argv);
}

static int run_deliver(const struct site *site, int argc, char **argv)
{
    (void)site; /* the daemon says all that is needed */
    return deliver_main(argc, argv);
}

static const struct tool_command commands[] = {
    {"calc", "says what given conditions mean for air, wood, mould and work", run_calc, false,
     NULL},
    {"export", "prints a zone's readings or means as CSV", export_main, true, NULL},
    {"bundle", "writes signed days for somebody to check without this program", bundle_main,
     true, NULL},
    {"verify", "checks a bundle, or the whole store, against its signatures", verify_main,
     false, "--store"},
    {"status", "says whether the daemon records", status_main, true, NULL},
    {"backup", "copies the database whole while it is being written", backup_main, true, NULL},
    {"probe", "asks which units answer on a bus, and what their registers hold", probe_main,
     true, NULL},
    {"deliver", NULL, run_deliver, false, NULL},
};

static void print_usage(FILE *to)
{
    fputs("usage: stillroom [--site FILE] COMMAND [OPTION ...]\n\n", to);
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++)
        if (commands[i].does != NULL)
            fprintf(to, "  %-8s %s\n", commands[i].name, commands[i].does);
    fputs("\n  --site FILE  the site file (default /etc/stillroom/site.ini)\n"
          "  --version, --help; every command has --help too\n\n"
          "Exit status: 0 done, 1 a finding, 2 usage, 3 bad input, 4 the system refused.\n",
          to);
}

static int run_with_site(const struct tool_command *command, const char *path, int argc,
                         char **argv)
{
    struct site *site;
    struct buf mistakes = {0};
    enum rc rc = site_read(path, &mistakes, &site);
    if (mistakes.len > 0)
        fputs(mistakes.data, stderr);
    buf_free(&mistakes);
    if (rc != RC_OK)
        return tool_exit_for(rc);
    if (!clock_zone_set(site->timezone))
        log_warn("time zone %s is not known here; times are in this machine's", site->timezone);
    int status = command->run(site, argc, argv);
    site_free(site);
    return status;
}

static bool has_option(int argc, char **argv, const char *option)
{
    for (int i = 1; i < argc; i++)
        if (strcmp(argv[i], option) == 0)
            return true;
    return false;
}

/* Help needs no site file. */
static bool needs_site(const struct tool_command *command, int argc, char **argv)
{
    if (has_option(argc, argv, "--help"))
        return false;
    return command->needs_site ||
           (command->site_option != NULL && has_option(argc, argv, command->site_option));
}

int main(int argc, char **argv)
{
    static const struct option options[] = {{"site", required_argument, NULL, 's'},
                                            {"version", no_argument, NULL, 'v'},
                                            {"help", no_argument, NULL, 'h'},
                                            {NULL, 0, NULL, 0}};
    const char *path = "/etc/stillroom/site.ini";
    log_setup(LOG_LEVEL_INFO);
    /* "+": stop at the command, whose options are its own. */
    for (int c; (c = getopt_long(argc, argv, "+", options, NULL)) != -1;) {
        if (c == 's') {
            path = optarg;
        } else if (c == 'v') {
            puts("stillroom " STILLROOM_VERSION);
            return TOOL_DONE;
        } else {
            print_usage(c == 'h' ? stdout : stderr);
            return c == 'h' ? TOOL_DONE : TOOL_USAGE;
        }
    }
    if (optind == argc) {
        print_usage(stderr);
        return TOOL_USAGE;
    }
    for (size_t i = 0; i < sizeof commands / sizeof *commands; i++) {
        if (strcmp(argv[optind], commands[i].name) != 0)
            continue;
        if (!needs_site(&commands[i], argc - optind, argv + optind))
            return commands[i].run(NULL, argc - optind, argv + optind);
        return run_with_site(&commands[i], path, argc - optind, argv + optind);
    }
    fprintf(stderr, "stillroom: there is no command \"%s\"\n", argv[optind]);
    print_usage(stderr);
    return TOOL_USAGE;
}
