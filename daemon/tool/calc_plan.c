/* calc_plan.c - see calc_plan.h. */
#include "tool/calc_plan.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#include "base/json.h"
#include "stillroom/board.h"
#include "stillroom/plan.h"
#include "stillroom/shrink.h"
#include "stillroom/wood.h"
#include "tool/calc_options.h"

#define EXIT_NO_MEMORY 4

static const char intro[] =
    "stillroom calc plan --temperature 20 --thickness 20 (--from-humidity 80 | --moisture 16)\n"
    "                    [--to-humidity 50] [--faces 1] [--species lime] [--cut radial] "
    "[--robust]\n"
    "A stepwise plan by which damp wood comes back to rest with the room. Steps keep below "
    "the\n"
    "published strain of brittle gesso; the damp end is left within two days; below it each "
    "step\n"
    "waits for the core. Without --robust the piece is taken as painted, gilded or fragile.";

#define SOURCE                                                                                 \
    "Crank (1975); Wood Handbook eq. (4-5); Mecklenburg, Tumosa & Erhardt (1998); steps, "     \
    "rates and shares are project choices, two days above 65 % common practice"

struct question {
    double t_c, from_pct, moisture_pct, to_pct, thickness_mm, faces;
    double step_pct, rate_pct_d, response;
    const char *species, *cut;
    bool robust, json;
};

/* Words for what decides a step, comma separated. */
static void reasons(unsigned why, char *text, size_t size)
{
    static const struct {
        unsigned bit;
        const char *word;
    } rows[] = {
        {SR_PLAN_BY_STRAIN, "step by strain"},
        {SR_PLAN_BY_RATE, "hold by daily rate"},
        {SR_PLAN_BY_DAMP, "hold cut, mould first"},
        {SR_PLAN_BY_GRADIENT, "hold until the core follows"},
        {SR_PLAN_OVER_GRADIENT, "core lags: inspect closely"},
    };
    size_t n = 0;

    text[0] = '\0';
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        if ((why & rows[i].bit) == 0)
            continue;
        const int wrote = snprintf(text + n, size - n, "%s%s", n > 0 ? ", " : "", rows[i].word);
        if (wrote < 0 || (size_t)wrote >= size - n)
            return;
        n += (size_t)wrote;
    }
}

static int print_text(const struct sr_plan *plan, const struct sr_plan_step steps[])
{
    puts("step   hold at   for days (least .. most)        strain   decided by");
    for (size_t i = 0; i < plan->n; i++) {
        const struct sr_plan_step *s = &steps[i];
        char why[160], days[48];
        reasons(s->why, why, sizeof why);
        snprintf(days, sizeof days, "%.1f (%.1f .. %.1f)", s->hold_d.mid, s->hold_d.low,
                 s->hold_d.high);
        printf("%4zu  %6.1f %%   %-30s %.4f   %s\n", i + 1, s->rh_to_pct, days, s->strain, why);
    }
    printf("\nIn all %.0f days (%.0f .. %.0f); %.1f (%.1f .. %.1f) at 70 %% or more.\n",
           plan->total_d.mid, plan->total_d.low, plan->total_d.high, plan->at_70_d.mid,
           plan->at_70_d.low, plan->at_70_d.high);
    printf("D 1e-10 m²/s, range 5e-12..3e-10 (from memory: Siau 1995, Time 1998; Padfield).\n"
           "Source: %s.\n\n%s\n\n%s\n\n%s\n\n%s\n",
           SOURCE, sr_plan_mould_caution, sr_plan_caveat, sr_plan_wrap_caution,
           sr_plan_flood_caution);
    return CALC_DONE;
}

static json_t *range(const struct sr_plan_range *r)
{
    return json_pack("{s:f, s:f, s:f, s:s, s:s}", "least", r->low, "value", r->mid, "most",
                     r->high, "unit", "d", "source", SOURCE);
}

static json_t *step_of(const struct sr_plan_step *s)
{
    char why[160];

    reasons(s->why, why, sizeof why);
    return json_pack("{s:f, s:f, s:f, s:f, s:f, s:f, s:s}", "from", s->rh_from_pct, "hold_at",
                     s->rh_to_pct, "days", s->hold_d.mid, "days_least", s->hold_d.low,
                     "days_most", s->hold_d.high, "strain", s->strain, "decided_by", why);
}

static int print_json(const struct sr_plan *plan, const struct sr_plan_step steps[])
{
    struct buf text = {0};
    json_t *list = json_array();
    int failed = list == NULL;

    for (size_t i = 0; i < plan->n && !failed; i++)
        failed = json_array_append_new(list, step_of(&steps[i])) != 0;
    json_t *all = json_pack("{s:o, s:o, s:o, s:[s, s, s, s]}", "days", range(&plan->total_d),
                            "days_at_70", range(&plan->at_70_d), "steps", list, "cautions",
                            sr_plan_mould_caution, sr_plan_caveat, sr_plan_wrap_caution,
                            sr_plan_flood_caution);
    failed = failed || all == NULL;
    if (!failed)
        json_put(&text, all);
    failed = failed || text.failed;
    json_decref(all);
    if (!failed)
        puts(text.data);
    buf_free(&text);
    return failed ? EXIT_NO_MEMORY : CALC_DONE;
}

/* Where the wood starts from: given, or where wood of that moisture rests. */
static int find_start(struct question *q)
{
    if (isnan(q->from_pct) == isnan(q->moisture_pct)) {
        fputs("plan: either --from-humidity or --moisture is needed; see --help\n", stderr);
        return CALC_USAGE;
    }
    if (isnan(q->from_pct) && sr_wood_rh(q->t_c, q->moisture_pct, &q->from_pct) != SR_OK)
        return calc_refused("plan", "wood as wet as that is beyond any humidity: dry it in "
                                    "moving room air first, then measure again");
    if (q->from_pct > 98.0)
        return calc_refused("plan", "wetter than 98 %: beyond what the formula holds for; dry "
                                    "it in moving room air first, then measure again");
    return CALC_GO_ON;
}

static int find_wood(const struct question *q, double *out_per_pct)
{
    const struct sr_shrink_species *s = sr_shrink_find(q->species);
    const bool radial = strcmp(q->cut, "radial") == 0;

    if (s == NULL)
        return calc_refused("plan", "no such species; see calc wood --list");
    if (!radial && strcmp(q->cut, "tangential") != 0)
        return calc_refused("plan", "--cut is radial or tangential");
    if (q->faces > 1.0 && q->faces < 2.0)
        return calc_refused("plan", "--faces is 1 or 2");
    const enum sr_rc rc =
        sr_shrink_coefficient(s, radial ? SR_SHRINK_RADIAL : SR_SHRINK_TANGENTIAL, out_per_pct);
    return rc == SR_OK ? CALC_GO_ON : calc_refused("plan", sr_rc_text(rc));
}

static int make(struct question *q)
{
    static const double from_d = SR_BOARD_D_LOW, to_d = SR_BOARD_D_HIGH;
    struct sr_plan_step steps[SR_PLAN_STEPS_MAX];
    struct sr_plan plan;
    struct sr_plan_rules rules;
    double c_per_pct = 0.0;

    int status = find_start(q);
    if (status == CALC_GO_ON)
        status = find_wood(q, &c_per_pct);
    if (status != CALC_GO_ON)
        return status;
    const struct sr_plan_object object = {q->thickness_mm / 1000.0,
                                          (int)q->faces,
                                          from_d,
                                          SR_BOARD_D_DEFAULT,
                                          to_d,
                                          c_per_pct,
                                          q->t_c,
                                          q->from_pct,
                                          q->to_pct};
    enum sr_rc rc = sr_plan_rules_for(q->robust ? SR_PLAN_ROBUST : SR_PLAN_PAINTED,
                                      object.thickness_m, &rules);
    if (rc == SR_OK) {
        rules.step_max_pct = isnan(q->step_pct) ? rules.step_max_pct : q->step_pct;
        rules.rate_max_pct_d = isnan(q->rate_pct_d) ? rules.rate_max_pct_d : q->rate_pct_d;
        rules.response = isnan(q->response) ? rules.response : q->response;
        rc = sr_plan_make(&object, &rules, steps, SR_PLAN_STEPS_MAX, &plan);
    }
    if (rc != SR_OK)
        return calc_refused("plan", sr_rc_text(rc));
    return q->json ? print_json(&plan, steps) : print_text(&plan, steps);
}

int calc_plan_main(int argc, char **argv)
{
    struct question q = {.t_c = (double)NAN,
                         .from_pct = (double)NAN,
                         .moisture_pct = (double)NAN,
                         .to_pct = 50,
                         .thickness_mm = (double)NAN,
                         .faces = 2,
                         .step_pct = (double)NAN,
                         .rate_pct_d = (double)NAN,
                         .response = (double)NAN,
                         .species = "lime",
                         .cut = "tangential"};
    const struct calc_option options[] = {
        {"temperature", "°C", -1, 60, &q.t_c, NULL, NULL, true, "of the air"},
        {"thickness", "mm", 0.1, 500, &q.thickness_mm, NULL, NULL, true,
         "of the thickest wood"},
        {"from-humidity", "%", 5, 98, &q.from_pct, NULL, NULL, false,
         "that the wood is at rest with"},
        {"moisture", "%", 0.5, 200, &q.moisture_pct, NULL, NULL, false,
         "of the wood as measured, instead"},
        {"to-humidity", "%", 5, 98, &q.to_pct, NULL, NULL, false, "to come back to"},
        {"faces", "number", 1, 2, &q.faces, NULL, NULL, false, "open ones"},
        {"species", "NAME", 0, 0, NULL, &q.species, NULL, false,
         "lime unless given; see calc wood --list"},
        {"cut", "NAME", 0, 0, NULL, &q.cut, NULL, false, "radial, or tangential unless given"},
        {"robust", NULL, 0, 0, NULL, NULL, &q.robust, false, "sound and unpainted"},
        {"step", "%", 0.5, 30, &q.step_pct, NULL, NULL, false, "greatest step, else 5"},
        {"rate", "%/d", 0.1, 100, &q.rate_pct_d, NULL, NULL, false,
         "greatest change a day, else 2, or 5 with --robust"},
        {"response", "share", 0.1, 0.99, &q.response, NULL, NULL, false,
         "of each step to wait for, else 0.9, or 0.5 for thick robust wood"},
        {"json", NULL, 0, 0, NULL, NULL, &q.json, false, "print JSON"},
    };

    const int status =
        calc_options(argc, argv, intro, options, sizeof options / sizeof *options);
    return status == CALC_GO_ON ? make(&q) : status;
}
