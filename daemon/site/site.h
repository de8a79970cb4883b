/* site.h - the site file: how the studio is wired and what it is warned of.
 *
 * Errors:  every mistake in the file is reported as "file:line: what, and what is allowed",
 *          all at once; RC_BAD_INPUT then, and no site.
 * Owner:   site_free releases a site and all strings in it.
 * Threads: a site is never changed after it was read; share it as const.
 */
#ifndef SITE_SITE_H
#define SITE_SITE_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#include "base/buf.h"
#include "base/quantity.h"
#include "base/rc.h"

enum site_purpose {
    PURPOSE_DRYING,
    PURPOSE_BENCH,
    PURPOSE_STORE,
    PURPOSE_QUARANTINE,
    PURPOSE_GALLERY,
    PURPOSE_CHAMBER,
    PURPOSE_CRATE,
    PURPOSE_TRANSIT,
    PURPOSE_OUTDOOR,
    PURPOSE_OTHER,
};

enum site_bus_kind {
    BUS_MODBUS_RTU,
    BUS_MODBUS_TCP
};
enum site_parity {
    PARITY_NONE,
    PARITY_EVEN,
    PARITY_ODD
};

struct site_bus {
    const char *name;
    enum site_bus_kind kind;
    const char *device; /* rtu */
    int baud;           /* rtu: 1200..115200, default 9600 */
    enum site_parity parity;
    int stop_bits;    /* 1 or 2; default 1 with parity, 2 without */
    const char *host; /* tcp */
    const char *port; /* tcp, decimal; default 502 */
    int response_ms;  /* 20..5000, default 500 */
    int byte_ms;      /* 1..50, default 50: a dripping peer restarts it at every byte */
    int line;         /* of the site file, for messages */
};

enum site_table {
    TABLE_COIL,
    TABLE_DISCRETE,
    TABLE_INPUT,
    TABLE_HOLDING
};
enum site_type {
    TYPE_BIT,
    TYPE_INT16,
    TYPE_UINT16,
    TYPE_INT32,
    TYPE_UINT32,
    TYPE_FLOAT32,
    TYPE_FLOAT64
};
enum site_word_order {
    WORDS_ABCD,
    WORDS_CDAB,
    WORDS_BADC,
    WORDS_DCBA
};

enum {
    SITE_NO_VALUE_MAX = 8,
    SITE_READS_MAX = 16, /* of one instrument */
    SITE_UNITS_MAX = 247 /* instruments of one bus */
};

/* One register (or run of registers) and what its content means:
 *     read = QUANTITY  TABLE ADDRESS TYPE [xSCALE] [+OFFSET|-OFFSET] [ORDER] [invert] [none CODE,CODE...]
 * Addresses count from 0. The codes are raw register contents that mean "no value". */
struct site_read {
    enum quantity quantity;
    enum site_table table;
    uint16_t address;
    enum site_type type;
    enum site_word_order order;
    double scale; /* value = raw * scale + offset */
    double offset;
    bool invert; /* bits only: 0 becomes 1 */
    double none[SITE_NO_VALUE_MAX];
    size_t none_count;
    double uncertainty; /* standard (k = 1), in the quantity's unit; NaN if not said */
};

struct site_instrument {
    const char *name;
    const struct site_bus *bus;
    int unit; /* Modbus unit, 1..247 (0..255 on TCP) */
    const char *serial;
    int every_s; /* at least 1 */
    const struct site_zone *zone;
    const struct site_read *reads; /* one a quantity */
    size_t read_count;
    const char *placement; /* free words: height, wall, distance to heater; "" if not said */
    int line;
};

struct site_zone {
    const char *name; /* the id in addresses: lower case letters, digits, hyphens */
    const char *title;
    enum site_purpose purpose;
    const struct site_instrument *lead; /* leads the derived values: `lead =`, else the first */
    int line;
};

/* What a limit watches. */
enum site_rule {
    RULE_ABOVE,      /* QUANTITY above NUMBER */
    RULE_BELOW,      /* QUANTITY below NUMBER */
    RULE_RANGE,      /* QUANTITY range above NUMBER within 24 h (1 h, 7 d too) */
    RULE_DEW_MARGIN, /* dew margin below NUMBER: surface temperature less dew point, K */
    RULE_CONTACT,    /* QUANTITY is on | off */
    RULE_SILENT,     /* silent: no reading from the limit's instrument or zone */
};

enum site_priority {
    PRIORITY_DIGEST,
    PRIORITY_LOW,
    PRIORITY_MEDIUM,
    PRIORITY_HIGH,
    PRIORITY_HIGHEST
};

struct site_limit {
    const char *name;
    const struct site_zone *zone;             /* one of the two is set */
    const struct site_instrument *instrument; /* else NULL */
    enum site_rule rule;
    enum quantity quantity; /* none for RULE_SILENT */
    double value;           /* in the quantity's unit */
    int window_s;           /* RULE_RANGE */
    bool on;                /* RULE_CONTACT: breach while on, else while off */
    int on_delay_s;         /* breach must last so long before the alarm */
    int off_delay_s;        /* and be over so long before it returns */
    double deadband;        /* how far back inside the limit counts as over */
    enum site_priority priority;
    const char *source; /* where the figure comes from, or "set in the site file" */
    const struct site_recipient *const *tell; /* NULL: nobody */
    size_t tell_count;
    int line;
};

enum site_recipient_kind {
    RECIPIENT_PERSON,
    RECIPIENT_WEBHOOK,
    RECIPIENT_COMMAND
};

/* Who or what is told: the names of all three kinds are one set. */
struct site_recipient {
    const char *name;
    enum site_recipient_kind kind;
    const char *mail;             /* person: an address, NULL if none */
    const char *url;              /* webhook */
    const char *secret_file;      /* webhook: signs what is sent; NULL if none */
    const char *const *arguments; /* command: its path, then the rest; NULL-ended */
    int line;
};

enum site_mail_security {
    MAIL_NONE,
    MAIL_STARTTLS,
    MAIL_TLS
};

/* The mail server that takes the messages to persons. */
struct site_mail {
    const char *host; /* NULL: there is no [mail], so no mail is sent */
    const char *port;
    enum site_mail_security security;
    const char *user;          /* NULL: the server asks for none */
    const char *password_file; /* set if the user is */
    const char *ca_file;       /* whom to trust beside the system's authorities; NULL */
    const char *from;
};

struct site {
    const char *path;
    struct buf text; /* the file as read, kept in the database by its digest */

    const char *studio; /* name; default "Studio" */
    const char *timezone;
    double altitude_m;
    const char *working_hours;
    uint8_t working_days;                 /* bit 0 Monday ... bit 6 Sunday */
    int working_from_min, working_to_min; /* minutes of the local day */
    bool demo;                            /* [studio] demo = yes: every page says DEMO */
    bool clock_trusted; /* [studio] clock = trusted: days close though nobody keeps the clock */

    const char *store_path;
    const char *key_path; /* [store] key_file; default: store path with ".key" */

    const char *http_host; /* [http] listen = host:port; default 127.0.0.1:8620 */
    const char *http_port;
    bool http_off;                 /* [http] listen = none */
    const char *const *http_names; /* names allowed in Host beside the address; NULL-ended */
    bool behind_proxy;

    const struct site_bus *buses;
    size_t bus_count;
    const struct site_instrument *instruments;
    size_t instrument_count;
    const struct site_zone *zones;
    size_t zone_count;
    const struct site_limit *limits; /* the file's own, then the defaults by purpose */
    size_t limit_count;
    const struct site_recipient *recipients; /* persons first */
    size_t recipient_count;
    struct site_mail mail;
};

/* Reads and checks a file. Mistakes, one a line, are added to `mistakes`. */
MUST_USE enum rc site_read(const char *path, struct buf *mistakes, struct site **out);

/* The same from a text that is already in memory (tests, pages); `path` is for messages. */
MUST_USE enum rc site_parse(const char *path, const char *text, size_t len,
                            struct buf *mistakes, struct site **out);

void site_free(struct site *site);

const char *site_purpose_word(enum site_purpose purpose);
const char *site_priority_word(enum site_priority priority);

/* The rule of a limit in words that read as English: "humidity above 65 % for 30 min". */
void site_limit_text(const struct site_limit *limit, struct buf *out);

/* True if a message to this one can leave: a person without an address, or without a mail
 * server, is a name only. */
bool site_reachable(const struct site *site, const struct site_recipient *recipient);

/* The one of a name, NULL if there is none. */
const struct site_recipient *site_recipient(const struct site *site, const char *name);

/* True in the studio's working hours at a moment, by the process's time zone. */
bool site_working_hours(const struct site *site, int64_t utc_s);

#endif
