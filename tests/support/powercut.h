/* powercut.h - a disk for SQLite that can fail and lose its power.
 *
 * Put before SQLite's own file layer, it lets everything through and knows, for each file, what
 * would be there after a power cut: what was synced, and of the writes since then any part.
 *
 * Errors:  ends the program, since only tests use it.
 * Threads: one.
 */
#ifndef TESTS_SUPPORT_POWERCUT_H
#define TESTS_SUPPORT_POWERCUT_H

#include <stdbool.h>
#include <stdint.h>

/* What becomes of the operation (write, sync or truncation) that is number `at`, counted from
 * powercut_arm. */
enum powercut_fault {
    POWERCUT_NOTHING,
    POWERCUT_POWER, /* it and all later ones never reach the disk, and fail */
    POWERCUT_KILL,  /* the process is killed before it */
    POWERCUT_FULL,  /* it fails: the disk is full */
    POWERCUT_IO,    /* it fails: the disk is at fault */
};

/* Makes it the file layer of all connections opened from now on. */
void powercut_install(void);

/* Sets what will become of operation `at`, counted from 0 now. `for_ever`: later ones fail as
 * it did, until it is mended; a cut of power always lasts. */
void powercut_arm(enum powercut_fault fault, int64_t at, bool for_ever);

/* Forgets all files; call it while no connection is open, before another store is used. */
void powercut_forget(void);

/* Ends a fault that lasts. */
void powercut_mend(void);

/* Operations since powercut_arm, and whether the fault has struck. */
int64_t powercut_count(void);
bool powercut_struck(void);

/* Leaves on the real disk what a cut of the power would: call after the connections were closed.
 * `seed` chooses which of the writes that were not synced arrived, whole or in part. */
void powercut_leave(uint64_t seed);

#endif
