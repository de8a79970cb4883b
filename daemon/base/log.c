/* log.c - see log.h. The level and the style are the only state at file scope. */
#include "base/log.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

static enum log_level most_wanted = LOG_LEVEL_INFO;
static bool to_journal = false;

void log_setup(enum log_level most)
{
    most_wanted = most;
    to_journal = getenv("JOURNAL_STREAM") != NULL;
}

static void __attribute__((format(printf, 2, 0)))
put(enum log_level level, const char *format, va_list args)
{
    static const char *const prefix[] = {"<3>", "<4>", "<6>", "<7>"};
    static const char *const word[] = {"error: ", "warning: ", "", "debug: "};
    if (level > most_wanted)
        return;
    char line[1024];
    int n = snprintf(line, sizeof line, "%s", to_journal ? prefix[level] : word[level]);
    size_t at = (size_t)n;
    n = vsnprintf(line + at, sizeof line - at - 1, format, args);
    if (n < 0)
        return;
    at += (size_t)n < sizeof line - at - 1 ? (size_t)n : sizeof line - at - 2;
    line[at++] = '\n';
    if (write(STDERR_FILENO, line, at) < 0)
        return; /* nobody reads: nothing better can be done with it */
}

#define LOG_AT(name, level)                                                                    \
    void name(const char *format, ...)                                                         \
    {                                                                                          \
        va_list args;                                                                          \
        va_start(args, format);                                                                \
        put(level, format, args);                                                              \
        va_end(args);                                                                          \
    }

LOG_AT(log_err, LOG_LEVEL_ERR)
LOG_AT(log_warn, LOG_LEVEL_WARN)
LOG_AT(log_info, LOG_LEVEL_INFO)
LOG_AT(log_debug, LOG_LEVEL_DEBUG)
