/* letter.c - see letter.h. */
#include "tool/letter.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#include "base/clock.h"

enum {
    LINE_MOST = 76, /* RFC 2045 */
    WORD_MOST = 15  /* bytes in an encoded word: 15 times "=XX" and its frame stay below 75 */
};

/* The first byte of a character, not one that goes on. */
static bool begins(unsigned char c)
{
    return (c & 0xC0U) != 0x80U;
}

static bool plain_header(const char *text)
{
    for (const char *c = text; *c != '\0'; c++)
        if ((unsigned char)*c < 0x20 || (unsigned char)*c > 0x7E)
            return false;
    return strlen(text) <= 900 && strstr(text, "=?") == NULL;
}

/* Text in a header; what is not plain ASCII in encoded words, cut between characters only. */
static void header_text(const char *text, struct buf *out)
{
    if (plain_header(text)) {
        buf_str(out, text);
        return;
    }
    size_t in_word = 0;
    buf_str(out, "=?UTF-8?Q?");
    for (const char *c = text; *c != '\0'; c++) {
        unsigned char byte = (unsigned char)*c;
        if (in_word + 4 > WORD_MOST && begins(byte)) {
            buf_str(out, "?=\r\n =?UTF-8?Q?");
            in_word = 0;
        }
        in_word++;
        if (byte == ' ')
            buf_str(out, "_");
        else if (strchr("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789", *c) !=
                 NULL)
            buf_add(out, c, 1);
        else
            buf_printf(out, "=%02X", byte);
    }
    buf_str(out, "?=");
}

/* A name beside an address: a quoted string where it is plain. */
static void sender_name(const char *name, struct buf *out)
{
    if (!plain_header(name)) {
        header_text(name, out);
        return;
    }
    buf_str(out, "\"");
    for (const char *c = name; *c != '\0'; c++) {
        if (*c == '"' || *c == '\\')
            buf_str(out, "\\");
        buf_add(out, c, 1);
    }
    buf_str(out, "\"");
}

static void date(int64_t utc_s, struct buf *out)
{
    static const char *const weekday[] = {"Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"};
    static const char *const month[] = {"Jan", "Feb", "Mar", "Apr", "May", "Jun",
                                        "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"};
    int offset_min = (int)(clock_offset_s(utc_s) / 60);
    int64_t local_s = utc_s + clock_offset_s(utc_s), day = clock_day_of(local_s);
    int second = (int)(local_s - day * CLOCK_DAY_S), y = 1970, m = 1, d = 1;
    char text[16];
    clock_day_text(day, text, sizeof text);
    if (sscanf(text, "%d-%d-%d", &y, &m, &d) != 3 || m < 1 || m > 12)
        return;
    int size_min = offset_min < 0 ? -offset_min : offset_min;
    /* Day 0, 1970-01-01, was a Thursday. */
    buf_printf(out, "%s, %d %s %d %02d:%02d:%02d %c%02d%02d", weekday[((day + 3) % 7 + 7) % 7],
               d, month[m - 1], y, second / 3600, second / 60 % 60, second % 60,
               offset_min < 0 ? '-' : '+', size_min / 60, size_min % 60);
}

/* A byte of the text as it stands in a line; a blank at the end of one would get lost. */
static void put_byte(const char *c, size_t *column, struct buf *out)
{
    unsigned char byte = (unsigned char)*c;
    bool last = c[1] == '\0' || c[1] == '\n';
    bool plain = (byte > 0x20 && byte < 0x7F && byte != '=') || (byte == ' ' && !last);
    size_t width = plain ? 1 : 3;
    if (*column + width > LINE_MOST - 1) {
        buf_str(out, "=\r\n");
        *column = 0;
    }
    *column += width;
    if (plain)
        buf_add(out, c, 1);
    else
        buf_printf(out, "=%02X", byte);
}

static void quoted_printable(const char *text, struct buf *out)
{
    size_t column = 0;
    for (const char *c = text; *c != '\0'; c++) {
        if (*c == '\n') {
            buf_str(out, "\r\n");
            column = 0;
        } else if (*c != '\r') {
            put_byte(c, &column, out);
        }
    }
}

void letter_write(const struct letter *l, struct buf *out)
{
    buf_str(out, "Date: ");
    date(l->written_s, out);
    buf_str(out, "\r\nFrom: ");
    sender_name(l->sender, out);
    buf_printf(out, " <%s>\r\nTo: <%s>\r\nSubject: ", l->from, l->to);
    header_text(l->subject, out);
    buf_printf(out,
               "\r\nMessage-ID: <%s>\r\nMIME-Version: 1.0\r\n"
               "Content-Type: text/plain; charset=utf-8\r\n"
               "Content-Transfer-Encoding: quoted-printable\r\n"
               "Auto-Submitted: auto-generated\r\n\r\n",
               l->message_id);
    quoted_printable(l->body, out);
}
