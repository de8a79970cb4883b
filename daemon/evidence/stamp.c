/* stamp.c - see stamp.h. */
#include "evidence/stamp.h"

#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdbool.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

#include "base/log.h"

extern char **environ;

/* Starts openssl with its output into a pipe. */
static enum rc start(const char *hex, pid_t *out_pid, int *out_fd)
{
    int fds[2];
    char digest[65] = {0};
    memcpy(digest, hex, strnlen(hex, sizeof digest - 1));
    char *const argv[] = {
        (char[]){"openssl"}, (char[]){"ts"}, (char[]){"-query"}, (char[]){"-sha256"},
        (char[]){"-digest"}, digest,         (char[]){"-cert"},  NULL};
    posix_spawn_file_actions_t actions;
    if (pipe(fds) != 0)
        return RC_IO;
    posix_spawn_file_actions_init(&actions);
    posix_spawn_file_actions_adddup2(&actions, fds[1], STDOUT_FILENO);
    posix_spawn_file_actions_addclose(&actions, fds[0]);
    posix_spawn_file_actions_addclose(&actions, fds[1]);
    /* What it says to people (which settings it uses) is of no use to ours. */
    posix_spawn_file_actions_addopen(&actions, STDERR_FILENO, "/dev/null", O_WRONLY, 0);
    int failed = posix_spawnp(out_pid, "openssl", &actions, NULL, argv, environ);
    posix_spawn_file_actions_destroy(&actions);
    close(fds[1]);
    if (failed == 0) {
        *out_fd = fds[0];
        return RC_OK;
    }
    close(fds[0]);
    log_err("cannot run openssl, which makes requests for time stamps: %s", strerror(failed));
    return failed == ENOENT ? RC_NOT_FOUND : RC_IO;
}

enum rc stamp_request(const char *hex, struct buf *out)
{
    pid_t pid;
    int fd, status = 0;
    enum rc rc = start(hex, &pid, &fd);
    if (rc != RC_OK)
        return rc;
    char piece[1024];
    buf_clear(out);
    for (ssize_t n; (n = read(fd, piece, sizeof piece)) > 0;)
        buf_add(out, piece, (size_t)n);
    close(fd);
    pid_t ended;
    do
        ended = waitpid(pid, &status, 0);
    while (ended < 0 && errno == EINTR);
    /* 127: the child could not become openssl. */
    if (WIFEXITED(status) && WEXITSTATUS(status) == 0 && out->len > 0)
        return out->failed ? RC_NOMEM : RC_OK;
    log_err("openssl made no request for a time stamp (exit status %d)",
            WIFEXITED(status) ? WEXITSTATUS(status) : -1);
    return WIFEXITED(status) && WEXITSTATUS(status) == 127 ? RC_NOT_FOUND : RC_IO;
}
