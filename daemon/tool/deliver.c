/* deliver.c - see deliver.h: reads the order, and runs commands. */
#include "tool/deliver.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/seal.h"

extern char **environ;

enum {
    SECRET_MOST = 4096
};

enum deliver_exit deliver_fail(enum deliver_exit how, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    vfprintf(stderr, format, args);
    fputc('\n', stderr);
    va_end(args);
    return how;
}

const char *deliver_text(const json_t *order, const char *key)
{
    const char *text = json_string_value(json_object_get(order, key));
    return text == NULL ? "" : text;
}

enum deliver_exit deliver_secret(const char *path, struct buf *out)
{
    char text[SECRET_MOST];
    struct stat st;
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return deliver_fail(DELIVER_REFUSED, "%s cannot be read: %s", path, strerror(errno));
    ssize_t n = read(fd, text, sizeof text);
    bool open_to_all = fstat(fd, &st) != 0 || (st.st_mode & 07) != 0;
    close(fd);
    if (open_to_all)
        return deliver_fail(DELIVER_REFUSED, "%s can be read by everybody: chmod o= it", path);
    while (n > 0 && (text[n - 1] == '\n' || text[n - 1] == '\r'))
        n--;
    if (n <= 0 || n == SECRET_MOST)
        return deliver_fail(DELIVER_REFUSED, "%s must hold a secret of up to %d bytes", path,
                            SECRET_MOST - 1);
    buf_add(out, text, (size_t)n);
    return out->failed ? deliver_fail(DELIVER_LATER, "out of memory") : DELIVER_TAKEN;
}

/* Its output is nobody's; the message is all that it gets. */
static int spawn(char *const *arguments, int in, pid_t *out)
{
    posix_spawn_file_actions_t files;
    posix_spawn_file_actions_init(&files);
    posix_spawn_file_actions_adddup2(&files, in, STDIN_FILENO);
    posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_addopen(&files, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    int error = posix_spawn(out, arguments[0], &files, NULL, arguments, environ);
    posix_spawn_file_actions_destroy(&files);
    return error;
}

static enum deliver_exit run(char *const *arguments, const struct buf *text)
{
    int in[2], status;
    pid_t pid;
    if (pipe(in) != 0)
        return deliver_fail(DELIVER_LATER, "no pipe: %s", strerror(errno));
    fcntl(in[1], F_SETFD, FD_CLOEXEC);
    int error = spawn(arguments, in[0], &pid);
    close(in[0]);
    if (error != 0) {
        close(in[1]);
        return deliver_fail(DELIVER_REFUSED, "%s cannot be run: %s", arguments[0],
                            strerror(error));
    }
    /* A command that does not care to read is not to end us. */
    signal(SIGPIPE, SIG_IGN);
    bool read_all = write(in[1], text->data, text->len) == (ssize_t)text->len;
    close(in[1]);
    while (waitpid(pid, &status, 0) < 0)
        if (errno != EINTR)
            return deliver_fail(DELIVER_LATER, "%s was lost: %s", arguments[0],
                                strerror(errno));
    if (WIFSIGNALED(status))
        return deliver_fail(DELIVER_LATER, "%s was ended by signal %d", arguments[0],
                            WTERMSIG(status));
    if (WEXITSTATUS(status) != 0)
        return deliver_fail(DELIVER_LATER, "%s said %d%s", arguments[0], WEXITSTATUS(status),
                            read_all ? "" : " and did not read the message");
    return DELIVER_TAKEN;
}

static enum deliver_exit deliver_command(const json_t *order)
{
    const json_t *list = json_object_get(order, "arguments");
    size_t count = json_array_size(list);
    char **arguments = calloc(count + 1, sizeof *arguments);
    struct buf text = {0};
    buf_printf(&text, "%s\n\n%s", deliver_text(order, "subject"), deliver_text(order, "body"));
    enum deliver_exit how = DELIVER_TAKEN;
    if (arguments == NULL || text.failed)
        how = deliver_fail(DELIVER_LATER, "out of memory");
    for (size_t i = 0; how == DELIVER_TAKEN && i < count; i++) {
        const char *word = json_string_value(json_array_get(list, i));
        arguments[i] = strdup(word == NULL ? "" : word);
        if (arguments[i] == NULL)
            how = deliver_fail(DELIVER_LATER, "out of memory");
    }
    if (how == DELIVER_TAKEN)
        how = count == 0 ? deliver_fail(DELIVER_REFUSED, "no command is named")
                         : run(arguments, &text);
    for (size_t i = 0; arguments != NULL && i < count; i++)
        free(arguments[i]);
    free(arguments);
    buf_free(&text);
    return how;
}

/* Ends with the daemon: what it no longer waits for would be sent twice. */
static bool daemon_lives(const char *pid)
{
    prctl(PR_SET_PDEATHSIG, SIGKILL);
    return strtol(pid, NULL, 10) == (long)getppid();
}

int deliver_main(int argc, char **argv)
{
    if (argc != 2)
        return (int)deliver_fail(DELIVER_REFUSED,
                                 "stillroomd alone calls this, to send a message");
    if (!daemon_lives(argv[1]))
        return (int)deliver_fail(DELIVER_LATER, "the daemon that called has gone");
    if (seal_start() != RC_OK)
        return (int)deliver_fail(DELIVER_LATER, "the library of digests does not start");
    json_error_t error;
    json_t *order = json_loadf(stdin, 0, &error);
    const char *what = deliver_text(order, "deliver");
    enum deliver_exit how;
    if (order == NULL)
        how = deliver_fail(DELIVER_REFUSED, "no order: %s", error.text);
    else if (strcmp(what, "mail") == 0)
        how = deliver_mail(order);
    else if (strcmp(what, "webhook") == 0)
        how = deliver_webhook(order);
    else if (strcmp(what, "command") == 0)
        how = deliver_command(order);
    else
        how = deliver_fail(DELIVER_REFUSED, "no such way: \"%s\"", what);
    json_decref(order);
    return (int)how;
}
