/* courier.c - see courier.h. */
#define _GNU_SOURCE /* pipe2 */
#include "recorder/courier.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/log.h"

extern char **environ;

struct errand {
    pid_t pid; /* 0: reaped */
    int words; /* what it says of an error; read end, never waited on */
};

static void close_all(int fds[2])
{
    for (int i = 0; i < 2; i++)
        if (fds[i] >= 0)
            close(fds[i]);
}

/* A group of its own, so that what a command leaves behind can be ended with it; and none of
 * the signals that we block. */
static int spawn(const char *tool, int in, int words, pid_t *out)
{
    posix_spawn_file_actions_t files;
    posix_spawnattr_t attributes;
    sigset_t none, defaults;
    char parent[24];
    snprintf(parent, sizeof parent, "%ld", (long)getpid());
    char name[] = "stillroom", command[] = "deliver";
    char *const arguments[] = {name, command, parent, NULL};
    sigemptyset(&none);
    sigemptyset(&defaults);
    sigaddset(&defaults, SIGPIPE);
    posix_spawn_file_actions_init(&files);
    posix_spawnattr_init(&attributes);
    posix_spawn_file_actions_adddup2(&files, in, STDIN_FILENO);
    posix_spawn_file_actions_addopen(&files, STDOUT_FILENO, "/dev/null", O_WRONLY, 0);
    posix_spawn_file_actions_adddup2(&files, words, STDERR_FILENO);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &defaults);
    posix_spawnattr_setpgroup(&attributes, 0);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF |
                                              POSIX_SPAWN_SETPGROUP);
    int error = posix_spawn(out, tool, &files, &attributes, arguments, environ);
    posix_spawnattr_destroy(&attributes);
    posix_spawn_file_actions_destroy(&files);
    return error;
}

static void end(struct errand *e)
{
    if (e == NULL)
        return;
    if (e->pid > 0) {
        kill(-e->pid, SIGKILL);
        while (waitpid(e->pid, NULL, 0) < 0 && errno == EINTR) {
        }
    }
    if (e->words >= 0)
        close(e->words);
    free(e);
}

static enum rc start(const struct courier *courier, const char *order, size_t len,
                     struct errand **out)
{
    int in[2] = {-1, -1}, words[2] = {-1, -1};
    struct errand *e = calloc(1, sizeof *e);
    if (e == NULL)
        return RC_NOMEM;
    e->words = -1;
    enum rc rc = RC_IO;
    if (pipe2(in, O_CLOEXEC) != 0 || pipe2(words, O_CLOEXEC) != 0)
        goto done;
    fcntl(in[1], F_SETFL, O_NONBLOCK);
    fcntl(words[0], F_SETFL, O_NONBLOCK);
    int error = spawn(courier->tool, in[0], words[1], &e->pid);
    if (error != 0) {
        e->pid = 0;
        log_err("cannot start %s to send messages: %s", courier->tool, strerror(error));
        goto done;
    }
    e->words = words[0];
    words[0] = -1;
    /* An order is far smaller than a pipe holds. */
    if (write(in[1], order, len) == (ssize_t)len)
        rc = RC_OK;
done:
    close_all(in);
    close_all(words);
    if (rc == RC_OK)
        *out = e;
    else
        end(e);
    return rc;
}

static void first_line(int fd, char error[COURIER_ERROR])
{
    ssize_t n = read(fd, error, COURIER_ERROR - 1);
    error[n > 0 ? n : 0] = '\0';
    error[strcspn(error, "\r\n")] = '\0';
}

static enum courier_answer look(struct errand *e, char error[COURIER_ERROR])
{
    int status;
    pid_t pid = waitpid(e->pid, &status, WNOHANG);
    error[0] = '\0';
    if (pid == 0 || (pid < 0 && errno == EINTR))
        return COURIER_RUNS;
    first_line(e->words, error);
    e->pid = 0;
    if (pid < 0 || !WIFEXITED(status))
        return COURIER_LATER;
    switch (WEXITSTATUS(status)) {
    case 0:
        return COURIER_TAKEN;
    case 2:
        return COURIER_REFUSED;
    default:
        return COURIER_LATER;
    }
}

struct courier courier_of(const char *tool)
{
    return (struct courier){.tool = tool, .start = start, .look = look, .end = end};
}
