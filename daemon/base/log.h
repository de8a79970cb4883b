/* log.h - one line to stderr for each thing worth telling: edges, not levels.
 *
 * Lines carry the systemd priority prefix ("<3>") when stderr is the journal, else a word.
 * Threads: any; a line is written by one write().
 */
#ifndef BASE_LOG_H
#define BASE_LOG_H

enum log_level {
    LOG_LEVEL_ERR,
    LOG_LEVEL_WARN,
    LOG_LEVEL_INFO,
    LOG_LEVEL_DEBUG
};

/* Called once, before any thread: what to let through (inclusive). */
void log_setup(enum log_level most);

void log_err(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_warn(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_info(const char *format, ...) __attribute__((format(printf, 1, 2)));
void log_debug(const char *format, ...) __attribute__((format(printf, 1, 2)));

#endif
