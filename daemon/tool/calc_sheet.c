/* calc_sheet.c - see calc_sheet.h. */
#include "tool/calc_sheet.h"

#include <assert.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"

#define EXIT_NO_MEMORY 4
#define TITLE_WIDTH 40

void calc_sheet_add(struct calc_sheet *sheet, const struct calc_line *line)
{
    assert(sheet->n < CALC_SHEET_LINES);
    sheet->lines[sheet->n++] = *line;
}

void calc_sheet_add_if(struct calc_sheet *sheet, enum sr_rc rc, const struct calc_line *line)
{
    if (rc == SR_OK)
        calc_sheet_add(sheet, line);
}

static json_t *number(double x)
{
    return isfinite(x) ? json_real(x) : json_null();
}

static int print_json(const struct calc_sheet *sheet)
{
    struct buf text = {0};
    json_t *all = json_object();
    int failed = all == NULL;

    for (size_t i = 0; i < sheet->n && !failed; i++) {
        const struct calc_line *l = &sheet->lines[i];
        json_t *one = json_pack("{s:o, s:s, s:o, s:s, s:s}", "value",
                                l->word != NULL ? json_string(l->word) : number(l->value),
                                "unit", l->unit, "uncertainty", number(l->uncertainty),
                                "formula", l->formula, "source", l->source);
        failed = json_object_set_new(all, l->name, one) != 0;
    }
    if (!failed)
        json_put(&text, all);
    failed = failed || text.failed;
    json_decref(all);
    if (!failed)
        puts(text.data);
    buf_free(&text);
    return failed ? EXIT_NO_MEMORY : 0;
}

/* printf counts bytes where a column counts letters, so what follows is padded by hand. */
static void print_padded(const char *text, int width)
{
    int letters = 0;

    for (const char *p = text; *p != '\0'; p++)
        letters += ((unsigned char)*p & 0xC0) != 0x80;
    fputs(text, stdout);
    printf("%*s", letters < width ? width - letters : 1, "");
}

int calc_sheet_print(const struct calc_sheet *sheet, bool json)
{
    if (json)
        return print_json(sheet);
    for (size_t i = 0; i < sheet->n; i++) {
        const struct calc_line *l = &sheet->lines[i];
        char value[96];
        if (l->word != NULL)
            snprintf(value, sizeof value, "%s", l->word);
        else if (isnan(l->uncertainty))
            snprintf(value, sizeof value, "%.*f %s", l->decimals, l->value, l->unit);
        else
            snprintf(value, sizeof value, "%.*f ± %.*f %s", l->decimals, l->value, l->decimals,
                     l->uncertainty, l->unit);
        print_padded(l->title, TITLE_WIDTH);
        puts(value);
        if (l->formula[0] != '\0')
            printf("    %s\n", l->formula);
        printf("    %s\n", l->source);
    }
    if (sheet->note != NULL)
        printf("\n%s\n", sheet->note);
    return 0;
}
