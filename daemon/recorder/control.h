/* control.h - the unix socket by which the tool asks a running daemon (STORE.sock, mode 0660).
 *
 * One line of JSON in, one line out: {"ask":"status"} gives the status; {"ask":"alarms"} the
 * alarms that are not normal; {"ask":"acknowledge","alarm":ID,"person":"...","reason":"..."}
 * and {"ask":"shelve",...,"until":UTC} do what they say. Answers bear "ok" and, where it is
 * false, "error".
 *
 * Threads: main's. A client that does not finish its line within a second is dropped.
 */
#ifndef RECORDER_CONTROL_H
#define RECORDER_CONTROL_H

#include "base/rc.h"
#include "recorder/recorder.h"

struct control;

MUST_USE enum rc control_open(const char *store_path, struct recorder *recorder,
                              struct control **out);
void control_close(struct control *control);

/* Readable when somebody asks; -1 if there is no socket. */
int control_fd(const struct control *control);
void control_serve(struct control *control);

#endif
