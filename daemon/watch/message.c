/* message.c - see message.h.
 *
 * What a condition threatens and what is done about it is general knowledge of the trade, not a
 * finding about the pieces that stand there, and says so.
 */
#include "watch/message.h"

#include <math.h>
#include <string.h>

enum trouble {
    DAMP,
    MOULD,
    DRY,
    SWING,
    DEW,
    COLD,
    WARM,
    LEAK,
    MAINS,
    TANK,
    PLANT,
    DOOR,
    SILENT,
    TROUBLES
};

struct advice {
    const char *threat; /* what it threatens */
    const char *usual;  /* what the trade usually does */
    const char *look;   /* what to look for when it is over */
    const char *caution;
};

static const char mould_caution[] =
    "Visible mould: gloves and a mask; more than a small patch is for a professional.";
static const char mains_caution[] = "Leave the mains to an electrician.";
static const char wet_mains_caution[] =
    "Keep away from wet sockets and cables; leave the mains to an electrician.";

static const struct advice advices[TROUBLES] = {
    [DAMP] = {"canvas slackens and wood takes up moisture; if it lasts for weeks, mould may "
              "start.",
              "find the cause, keep air moving behind the pieces, dry the room slowly.",
              "slack canvas, bloom, lifting, a musty smell", NULL},
    [MOULD] =
        {"mould may start, within weeks or, where wetter, days; canvas slackens, glue and "
         "gesso soften.",
         "find the cause, pull pieces off cold walls, keep air moving, dry slowly.",
         "slack canvas, bloom, lifting, a musty smell", mould_caution},
    [DRY] = {"canvas tightens, gesso and paint may lift, panels and joints may split.",
             "keep heat off the pieces, humidify the room slowly, move nothing that flakes.",
             "lifting paint or gesso, open joints and mitres", NULL},
    [SWING] = {"canvas slackens and tightens, wood moves, gesso and paint may lift.",
               "find what moved it (door, heating, weather) and even it out slowly.",
               "lifting at edges and joints, cockled canvas", NULL},
    [DEW] = {"water may settle on cold surfaces: a fresh varnish may blanch, and damp feeds "
             "mould.",
             "lay no varnish, pull pieces off the cold wall, dry the air slowly.",
             "drops, blanching, tidelines", NULL},
    [COLD] = {"paint and varnish films turn brittle, and knocks or bending may crack them.",
              "handle nothing, roll nothing, warm the room slowly.",
              "new cracks, and damp on cold surfaces as they warm", NULL},
    [WARM] = {"warm air dries wood and gesso; wax, resin and glue may soften.",
              "shade the windows, look at the heating, move pieces away from heat.",
              "softened wax or glue, lifting, open joints", NULL},
    [LEAK] = {"water reaches frames and canvases from below, and mould may follow within days.",
              "lift pieces off the floor first, shut the water if that is safe, air the room.",
              "wet backs, stretchers and floors, tidelines", wet_mains_caution},
    [MAINS] = {"heating and dehumidifier stand still, and the room drifts to the weather.",
               "keep doors and windows shut; ask whether the neighbours have power.",
               "heating and dehumidifier that did not start again", mains_caution},
    [TANK] = {"the dehumidifier has stopped, and the damp it held off comes back.",
              "unplug it, empty the tank, see that the float moves, start it again.",
              "damp that came in meanwhile", wet_mains_caution},
    [PLANT] = {"without its plant the room drifts to the weather.",
               "keep doors shut, see what the plant's own display says.",
               "a room that has not come back to its figure", mains_caution},
    [DOOR] = {"the room's air mixes with what is outside the door.",
              "see whether it should be so, and shut it.", "a swing in the room's air", NULL},
    [SILENT] = {"nothing is watched by it meanwhile, so no message is no clearance.",
                "look at its plug and cable; read the room by another instrument.",
                "what the air did meanwhile: nobody measured it", mains_caution},
};

/* Where damp or dryness means something of its own by what a room is for. */
static const struct {
    enum trouble trouble;
    enum site_purpose purpose;
    const char *threat, *usual;
} rooms[] = {
    {DAMP, PURPOSE_DRYING,
     "a varnish laid now may bloom; glue and gesso set slowly; canvas slackens.",
     "lay no varnish until it is drier, find the cause, warm or dry the room gently."},
    {MOULD, PURPOSE_DRYING,
     "a varnish laid now may bloom; gesso and glue stay soft; within weeks, mould.",
     "lay nothing, find the cause, keep air moving, dry slowly."},
    {DAMP, PURPOSE_BENCH, "canvas slackens; glue and gesso soften, and joints may creep.",
     "hold gluing and gesso, cover pieces loosely, dry the room slowly."},
    {DAMP, PURPOSE_QUARANTINE, "mould on a damp piece can grow and reach its neighbours.",
     "keep pieces apart, keep air moving, dry them slowly and by plan."},
    {DAMP, PURPOSE_CHAMBER, "more damp than planned softens glue and gesso, and may stain.",
     "open the chamber a little and look at the piece."},
    {DAMP, PURPOSE_CRATE, "damp shut in with a piece slackens canvas and feeds mould.",
     "open and air it as soon as that is safe; let the piece come round slowly."},
    {DAMP, PURPOSE_TRANSIT, "damp shut in with a piece slackens canvas and feeds mould.",
     "open and air it as soon as that is safe; let the piece come round slowly."},
    {DRY, PURPOSE_DRYING,
     "gesso and glue may dry too fast and crack; canvas tightens, paint may lift.",
     "keep heat and draught off the work, humidify the room slowly."},
};

static enum trouble of_contact(enum quantity q)
{
    return q == QUANTITY_LEAK            ? LEAK
           : q == QUANTITY_MAINS         ? MAINS
           : q == QUANTITY_TANK_FULL     ? TANK
           : q == QUANTITY_PLANT_RUNNING ? PLANT
                                         : DOOR;
}

static bool of_temperature(enum quantity q)
{
    return q == QUANTITY_TEMPERATURE || q == QUANTITY_SURFACE_TEMPERATURE;
}

static enum trouble trouble_of(const struct site_limit *l)
{
    enum {
        MOULD_PCT = 75 /* Canadian guidance on damp */
    };
    switch (l->rule) {
    case RULE_ABOVE:
        if (of_temperature(l->quantity))
            return WARM;
        return l->quantity == QUANTITY_MOULD_INDEX ||
                       l->quantity == QUANTITY_SURFACE_HUMIDITY ||
                       (l->quantity == QUANTITY_HUMIDITY && l->value >= MOULD_PCT)
                   ? MOULD
                   : DAMP;
    case RULE_BELOW:
        return of_temperature(l->quantity)          ? COLD
               : l->quantity == QUANTITY_DEW_MARGIN ? DEW
                                                    : DRY;
    case RULE_RANGE:
        return SWING;
    case RULE_DEW_MARGIN:
        return DEW;
    case RULE_CONTACT:
        return of_contact(l->quantity);
    case RULE_SILENT:
        return SILENT;
    }
    return SILENT;
}

static const struct site_zone *zone_of(const struct site_limit *l)
{
    return l->zone != NULL ? l->zone : l->instrument != NULL ? l->instrument->zone : NULL;
}

static struct advice advice_for(const struct site_limit *l)
{
    enum trouble trouble = trouble_of(l);
    const struct site_zone *zone = zone_of(l);
    struct advice a = advices[trouble];
    for (size_t i = 0; zone != NULL && i < sizeof rooms / sizeof *rooms; i++)
        if (rooms[i].trouble == trouble && rooms[i].purpose == zone->purpose) {
            a.threat = rooms[i].threat;
            a.usual = rooms[i].usual;
        }
    return a;
}

/* No sensor of a studio is good for a tenth of a percent: whole ones, but beside the limit, where
 * "above 65 %, now 65 %" would read as a mistake. */
static double said_value(const struct site_limit *l, double value)
{
    bool percent = l->rule != RULE_CONTACT && l->rule != RULE_SILENT &&
                   strcmp(quantity_info(l->quantity)->unit, "%") == 0;
    return percent && fabs(value - l->value) >= 1 ? round(value) : value;
}

void message_write(enum message_kind kind, const struct words_alarm *alarm, int64_t now_s,
                   const char *reason, struct buf *subject, struct buf *body)
{
    const struct site_limit *l = alarm->limit;
    struct advice a = advice_for(l);
    bool over = kind == MESSAGE_RETURNED;
    struct words_alarm rounded = *alarm;
    rounded.now = said_value(l, alarm->now);
    rounded.worst = said_value(l, alarm->worst);
    buf_str(subject, over ? "Over: " : "");
    words_condition(l, subject);
    words_extent(&rounded, subject);
    words_alarm(&rounded, now_s, body);
    buf_str(body, ".\n\n");
    if (over && reason != NULL)
        buf_printf(body, "Why: %s.\n", reason);
    if (over)
        buf_printf(body, "It is over. Look for: %s.\n", a.look);
    else
        buf_printf(body, "Threatens: %s\nThe trade usually (common practice): %s\n", a.threat,
                   a.usual);
    if (a.caution != NULL)
        buf_printf(body, "%s\n", a.caution);
    if (!over && l->rule != RULE_CONTACT && l->rule != RULE_SILENT)
        buf_printf(body, "Limit: %s.\n", l->source);
    buf_str(body, "One sensor's word; the conservator decides, looking at the pieces.\n");
}

void message_join(const struct message_part *parts, size_t count, struct buf *subject,
                  struct buf *body)
{
    enum {
        LINES_MOST = 4 /* a contact that chatters all night is no longer read than that */
    };
    size_t lead = 0;
    for (size_t i = 1; i < count; i++)
        if (parts[i].priority > parts[lead].priority)
            lead = i;
    if (count == 0)
        return;
    buf_str(subject, parts[lead].subject);
    if (count > 1)
        buf_printf(subject, " (and %zu more)", count - 1);
    const char *rest = strchr(parts[lead].body, '\n');
    if (rest == NULL)
        rest = "\n";
    buf_add(body, parts[lead].body, strcspn(parts[lead].body, "\n"));
    size_t told = 1;
    for (size_t i = 0; i < count && told < LINES_MOST; i++)
        if (i != lead) {
            buf_str(body, "\n");
            buf_add(body, parts[i].body, strcspn(parts[i].body, "\n"));
            told++;
        }
    if (told < count)
        buf_printf(body, "\nAnd %zu more; the log has them.", count - told);
    buf_str(body, rest);
}
