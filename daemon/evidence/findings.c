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

/* What was tampered with may hold anything: nothing of it may reach a terminal, or spoil JSON. */
static void escape(const char *text, char *out, size_t size)
{
    size_t at = 0;
    for (; *text != '\0' && at + 5 <= size; text++) {
        unsigned char c = (unsigned char)*text;
        if (c >= ' ' && c < 0x7f)
            out[at++] = *text;
        else
            at += (size_t)snprintf(out + at, size - at, "\\x%02x", c);
    }
    out[at] = '\0';
}

void findings_add(struct findings *f, enum finding_kind kind, const char *day, const char *file,
                  const char *format, ...)
{
    char words[512], safe_words[2048], safe_file[512];
    va_list args;
    va_start(args, format);
    vsnprintf(words, sizeof words, format, args);
    va_end(args);
    escape(words, safe_words, sizeof safe_words);
    escape(file, safe_file, sizeof safe_file);
    f->count++;
    f->tell(f->context, &(struct finding){
                            .kind = kind, .day = day, .file = safe_file, .words = safe_words});
}
