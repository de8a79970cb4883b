/* inifile.h - the lines of a site file, read by inih, with what inih would pass over in silence
 * told as mistakes: cut lines, NUL bytes, headings with something behind them, empty headings.
 *
 * Format:  "[section]", "key = value", comments after ";" or "#" at the start of a line or
 *          after " ;" behind a value. UTF-8, with or without a byte order mark; LF or CR LF.
 *          A value never runs over several lines.
 */
#ifndef SITE_INIFILE_H
#define SITE_INIFILE_H

#include <stddef.h>

#include "base/rc.h"
#include "site/mistakes.h"

struct inifile_sink {
    void (*section)(struct inifile_sink *sink, int line, const char *text, size_t len);
    void (*pair)(struct inifile_sink *sink, int line, const char *key, const char *value);
};

MUST_USE enum rc inifile_read(const char *text, size_t len, struct mistakes *mistakes,
                              struct inifile_sink *sink);

#endif
