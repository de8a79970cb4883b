/* recorder_private.h - what the recorder's own files share. */
#ifndef RECORDER_RECORDER_PRIVATE_H
#define RECORDER_RECORDER_PRIVATE_H

#include <pthread.h>

#include "base/seal.h"
#include "evidence/sign.h"
#include "recorder/batch.h"
#include "recorder/engine.h"
#include "recorder/publish.h"
#include "recorder/queue.h"
#include "recorder/recorder.h"

enum {
    NO_BATCH_GAP = -1
};

/* What the recorder knows of a channel beside the engine. */
struct channel_memory {
    bool gap_open;
    int gap_in_batch; /* index in the present batch, or NO_BATCH_GAP once it has an id */
    int64_t gap_id;
    int64_t gap_from_s;
    enum gap_reason gap_reason;
    uint8_t gap_detail;
    enum gap_reason hole; /* what a hole before the next reading will be put down to */
};

struct alarm_memory {
    enum alarm_state state;
    int64_t occurrence;
    int64_t since_s, until_s, shelved_until_s;
    double worst;
    bool condition; /* lasts now */
};

/* What is on its way to one recipient of the site. */
struct notify_slot {
    struct errand *errand; /* owned; NULL: none is running */
    bool chosen;           /* `message_id` is to be carried or was */
    bool answered;         /* its outcome is still to be written down */
    bool failing;          /* the last one did not get through */
    enum courier_answer answer;
    char message_id[STORE_MESSAGE_ID];
    char error[COURIER_ERROR];
    int64_t created_s, started_ms, retry_ms;
    unsigned tries;
};

enum command_state {
    COMMAND_NONE,
    COMMAND_WAITS,
    COMMAND_TAKEN, /* the recorder carries it out */
    COMMAND_DONE,
};

struct command {
    enum command_state state;
    bool left; /* nobody waits for its answer any more */
    enum rc rc;
    int64_t occurrence;
    enum alarm_input input;
    int64_t until_s;
    char person[64], reason[128];
};

struct recorder {
    struct recorder_cfg cfg;
    const struct site *site;
    struct store *store; /* owned, as all below */
    struct roster *roster;
    struct engine *engine;
    struct live *live;
    struct queue *queue;
    struct channel_memory *channels;
    struct alarm_memory *alarms;
    struct batch batch;
    struct reading *drained;   /* room for one batch */
    struct notify_slot *slots; /* one a recipient of the site */
    struct seal_key key;
    struct buf key_path, head_path;

    bool outbox_changed;
    int64_t outbox_looked_ms;
    bool batch_failed;      /* the batch could not be written and waits */
    int64_t batch_since_ms; /* monotonic age of its first item; 0: empty */
    int64_t retry_ms;       /* when a failed batch is tried again */
    int64_t close_retry_ms; /* and a failed closing of a day */
    int64_t held_said_ms; /* when it was last said that days wait for a right clock; 0: never */
    int64_t open_day;
    int64_t alive_written_s;
    int64_t started_s;
    int64_t in_force_s;    /* from when the site file holds */
    struct tick last_tick; /* of the step before, to notice a stepped clock */
    bool opened_well;
    bool begun; /* the clock could be right once: days and outages are counted */

    pthread_t thread;
    bool running;
    pthread_mutex_t lock; /* over what is below */
    pthread_cond_t answered;
    bool stop;
    int64_t moved_ms;
    struct command command;
};

/* judge.c: one drained reading into the batch. */
void judge_reading(struct recorder *r, const struct reading *reading);
void judge_edge(struct recorder *r, size_t limit, enum alarm_input input, int64_t t_s,
                double value, double worst, int64_t since_s, const char *person,
                const char *reason, int64_t until_s);
void judge_silence(struct recorder *r, int64_t now_s);
void judge_shelves(struct recorder *r, int64_t now_s);
extern const struct engine_out judge_nothing; /* throws results away, for feeding again */

/* command.c: what people say of alarms. Answers the one that waits, with the refusal if there is
 * one. */
enum rc command_open(struct recorder *r);
void command_answer(struct recorder *r, struct tick now, enum rc refusal);
bool command_waits(struct recorder *r);

/* outage.c: gaps. */
void outage_failed(struct recorder *r, int channel, const struct reading *reading);
void outage_over(struct recorder *r, int channel, int64_t last_s, int64_t t_s);
enum rc outage_begin(struct recorder *r, int64_t now_s);
void outage_numbered(struct recorder *r); /* after the batch was written */

/* resume.c: standing where the run before stood. */
enum rc resume(struct recorder *r);
/* Puts today's chart together anew from the store, after memory had run out for it. */
enum rc resume_open_days(struct recorder *r);

/* closing.c: closes days that are over, a week of them at most; RC_OK also if there was none. */
enum rc closing_run(struct recorder *r, struct tick now);

/* notify.c: messages on their way. */
enum rc notify_open(struct recorder *r, int64_t now_s);
void notify_step(struct recorder *r, struct tick now);
void notify_finish(struct recorder *r); /* waits a little for those that are on their way */
void notify_close(struct recorder *r);  /* ends them */

/* plausible.c: what to think of the clock. */
void plausible_clock(struct recorder *r, struct tick now);
bool plausible_date(const struct recorder *r, int64_t utc_s, int64_t newest_reading_s);

#endif
