/* findings.c - see findings.h. */
#include "evidence/findings.h"

#include <stdarg.h>
#include <stdio.h>

const char *finding_kind_word(enum finding_kind kind)
{
    static const char *const words[] = {
        [FINDING_FORM] = "form",   [FINDING_KEY] = "key",     [FINDING_SIGNATURE] = "signature",
        [FINDING_CHAIN] = "chain", [FINDING_FILE] = "file",   [FINDING_MISSING] = "missing",
        [FINDING_EXTRA] = "extra", [FINDING_TABLE] = "table", [FINDING_NOTE] = "note",
    };
    return words[kind];
}

void findings_add(struct findings *f, enum finding_kind kind, const char *day, const char *file,
                  const char *format, ...)
{
    char words[512];
    va_list args;
    va_start(args, format);
    vsnprintf(words, sizeof words, format, args);
    va_end(args);
    f->count++;
    f->tell(f->context,
            &(struct finding){.kind = kind, .day = day, .file = file, .words = words});
}
