/* field.h - the values of a section: numbers, durations, words, references.
 *
 * Errors: a value that is not allowed is added to the draft's mistakes, and *out left alone, as
 *         it is if the key is missing: set the default before. True only if a good value came.
 */
#ifndef SITE_FIELD_H
#define SITE_FIELD_H

#include <stdbool.h>
#include <stddef.h>

#include "site/draft.h"

/* "VALUE" for KEY in [SECTION]; allowed: ... */
void field_refuse(const struct draft *d, const struct draft_section *s,
                  const struct draft_entry *e, const char *allowed, ...)
    __attribute__((format(printf, 4, 5)));

/* The entry of a key that has a value; NULL if there is none. */
const struct draft_entry *field_entry(const struct draft_section *s, const char *key);

/* A mistake at the section's line if the key is not there at all. */
bool field_required(const struct draft *d, const struct draft_section *s, const char *key,
                    const char *example);

bool field_text(const struct draft *d, const struct draft_section *s, const char *key,
                const char **out);
bool field_int(const struct draft *d, const struct draft_section *s, const char *key, int least,
               int most, int *out);
bool field_double(const struct draft *d, const struct draft_section *s, const char *key,
                  double least, double most, double *out);
bool field_yes_no(const struct draft *d, const struct draft_section *s, const char *key,
                  bool *out);

/* One of some words (NULL-ended); *out is its index. */
bool field_word(const struct draft *d, const struct draft_section *s, const char *key,
                const char *const *words, int *out);

/* "30 min", "2 h", "90 s", "7 d"; seconds. */
bool field_duration_s(const struct draft *d, const struct draft_section *s, const char *key,
                      int least_s, int most_s, int *out_s);

/* "500 ms", "2 s"; milliseconds. */
bool field_duration_ms(const struct draft *d, const struct draft_section *s, const char *key,
                       int least_ms, int most_ms, int *out_ms);

/* The section of a kind that a value names. */
const struct draft_section *field_reference(const struct draft *d,
                                            const struct draft_section *s, const char *key,
                                            enum section kind);

/* "host:port", "[::1]:port", or "host" alone where a port is given as default (else NULL);
 * `forms` says so in the mistake. */
bool field_address(const struct draft *d, const struct draft_section *s, const char *key,
                   const char *default_port, const char *forms, const char **out_host,
                   const char **out_port);

/* Whole and decimal numbers, nothing before or behind them, finite. */
bool field_parse_long(const char *text, long least, long most, long *out);
bool field_parse_double(const char *text, double *out);

/* "30 min" in seconds; false if it is no duration. */
bool field_parse_duration(const char *text, long *out_s);

/* Words of a text, split at blanks, in place; at most `most`; returns how many there were. */
size_t field_split(char *text, char **words, size_t most);

#endif
