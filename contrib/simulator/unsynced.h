/* unsynced.h - lets a program write a whole database without waiting for the disk.
 *
 * A program that links unsynced.c answers for fsync and fdatasync itself, SQLite's calls
 * included, and does nothing: for a store that is made anew if its making is cut short, where
 * thousands of waits would be for nothing. Never for one that records.
 *
 * Threads: any.
 */
#ifndef SIMULATOR_UNSYNCED_H
#define SIMULATOR_UNSYNCED_H

#include "base/rc.h"

/* Really brings a file to the disk, at the end. RC_IO, logged, if that cannot be done. */
MUST_USE enum rc unsynced_end(const char *path);

#endif
