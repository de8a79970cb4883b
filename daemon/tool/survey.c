/* survey.c - see survey.h. */
#include "tool/survey.h"

#include <string.h>

static enum gap_reason ask(struct line *line, const struct survey_plan *plan,
                           const struct frame_request *request, struct frame_answer *out)
{
    enum gap_reason why;
    if (line_ready(line, &why))
        line_ask(line, request, plan->response_ms, out);
    else
        out->gap = why;
    return out->gap;
}

static bool is_answer(enum gap_reason gap)
{
    return gap == GAP_NONE || gap == GAP_EXCEPTION;
}

enum gap_reason survey_find(struct line *line, const struct survey_plan *plan, int unit)
{
    static const enum site_table tables[] = {TABLE_INPUT, TABLE_HOLDING};
    enum gap_reason gap = GAP_NO_ANSWER;
    for (size_t i = 0; i < 2 && gap == GAP_NO_ANSWER; i++) {
        const struct frame_request request = {
            .unit = unit, .table = tables[i], .address = plan->address, .count = 1};
        struct frame_answer answer;
        gap = ask(line, plan, &request, &answer);
    }
    return gap;
}

/* Where a unit refuses the whole run, each register is asked for, since most units have only
 * some. */
static void read_singly(struct line *line, const struct survey_plan *plan,
                        struct frame_request request, struct survey_table *out)
{
    struct frame_answer answer;
    request.count = 1;
    for (uint16_t i = 0; i < plan->count; i++, request.address++) {
        enum gap_reason gap = ask(line, plan, &request, &answer);
        out->there[i] = gap == GAP_NONE;
        if (gap == GAP_NONE) {
            out->words[i] = answer.words[0];
            out->gap = GAP_NONE;
        } else if (!is_answer(gap)) {
            return;
        }
    }
}

static void read_table(struct line *line, const struct survey_plan *plan, int unit,
                       enum site_table table, struct survey_table *out)
{
    const struct frame_request request = {
        .unit = unit, .table = table, .address = plan->address, .count = plan->count};
    struct frame_answer answer;
    out->asked = true;
    out->gap = ask(line, plan, &request, &answer);
    out->detail = answer.detail;
    if (out->gap == GAP_NONE) {
        memcpy(out->words, answer.words, plan->count * sizeof *out->words);
        for (uint16_t i = 0; i < plan->count; i++)
            out->there[i] = true;
    } else if (out->gap == GAP_EXCEPTION && plan->count > 1 && answer.detail != 1) {
        read_singly(line, plan, request, out); /* 1: the unit has no such table at all */
    }
}

void survey_read(struct line *line, const struct survey_plan *plan, int unit,
                 struct survey_unit *out)
{
    *out = (struct survey_unit){.unit = unit};
    for (int table = 0; table < SURVEY_TABLES; table++)
        if (plan->tables[table])
            read_table(line, plan, unit, (enum site_table)table, &out->tables[table]);
}
