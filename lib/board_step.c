/* board_step.c - see board.h for what is solved and how. */
#include "board_step.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define N SR_BOARD_CELLS
#define GROWTH 1.03 /* each cell is thicker than the one before it */
#define CAUTIOUS_STEPS 4

/* Thickness of the cells and what they pass on to each other for 1 % of difference. */
struct mesh {
    double width[N];
    double pass[N]; /* m/s: pass[0] from the air, pass[i] between cells i - 1 and i */
};

static double depth_of(const struct sr_board_spec *s)
{
    return s->open_faces == 2 ? 0.5 * s->thickness_m : s->thickness_m;
}

static void widths(const struct sr_board_spec *s, double width[N])
{
    double w = 1.0, sum = 0.0;

    for (int i = 0; i < N; i++, w *= GROWTH) {
        width[i] = w;
        sum += w;
    }
    for (int i = 0; i < N; i++)
        width[i] *= depth_of(s) / sum;
}

static double d_at(const struct sr_board_spec *s, double d, double moisture_pct)
{
    return s->d_per_pct > 0.0 ? d * exp(s->d_per_pct * (moisture_pct - SR_BOARD_D_AT_PCT)) : d;
}

/* The face is near the air's moisture unless the surface resists, when it is near the cell's. */
static double pass_at_face(const struct sr_board_spec *s, double d, double width, double cell,
                           double air_pct)
{
    const double inside = 0.5 * width / d_at(s, d, 0.5 * (cell + air_pct));

    return s->surface_m_s > 0.0 ? 1.0 / (inside + 1.0 / s->surface_m_s) : 1.0 / inside;
}

static void mesh_at(const struct sr_board_spec *s, double d, const double m[N], double air_pct,
                    struct mesh *out)
{
    widths(s, out->width);
    out->pass[0] = pass_at_face(s, d, out->width[0], m[0], air_pct);
    for (int i = 1; i < N; i++)
        out->pass[i] =
            d_at(s, d, 0.5 * (m[i - 1] + m[i])) / (0.5 * (out->width[i - 1] + out->width[i]));
}

/* Rate of each cell, percent per second. */
static void rate(const struct mesh *mesh, const double m[N], double air_pct, double out[N])
{
    double in = mesh->pass[0] * (air_pct - m[0]);

    for (int i = 0; i < N; i++) {
        const double on = i + 1 < N ? mesh->pass[i + 1] * (m[i] - m[i + 1]) : 0.0;
        out[i] = (in - on) / mesh->width[i];
        in = on;
    }
}

/* Solves x - h rate(x) = rhs: a diagonally dominant chain, so no pivots. */
static void solve(const struct mesh *mesh, double h, double air_pct, const double rhs[N],
                  double x[N])
{
    double above[N]; /* what is left right of the diagonal after elimination */
    double before = 0.0;

    for (int i = 0; i < N; i++) {
        const double g = h / mesh->width[i];
        const double left = g * mesh->pass[i];
        const double right = i + 1 < N ? g * mesh->pass[i + 1] : 0.0;
        const double known = i == 0 ? left * air_pct : left * x[i - 1];
        const double pivot = 1.0 + left + right - (i == 0 ? 0.0 : left * before);
        above[i] = before = right / pivot;
        x[i] = (rhs[i] + known) / pivot;
    }
    for (int i = N - 2; i >= 0; i--)
        x[i] += above[i] * x[i + 1];
}

/* Trapezium to t + gamma dt, then the second backward difference to t + dt: Bank et al. (1985)
 * with gamma = 2 - sqrt 2, which makes both systems the same. */
static void tr_bdf2(const struct mesh *mesh, double from, double to, double dt,
                    const double m[N], double out[N])
{
    const double gamma = 2.0 - sqrt(2.0);
    const double h = 0.5 * gamma * dt;
    const double w1 = 1.0 / (gamma * (2.0 - gamma));
    const double w0 = (1.0 - gamma) * (1.0 - gamma) * w1;
    double rhs[N], middle[N];

    rate(mesh, m, from, rhs);
    for (int i = 0; i < N; i++)
        rhs[i] = m[i] + h * rhs[i];
    solve(mesh, h, from + gamma * (to - from), rhs, middle);
    for (int i = 0; i < N; i++)
        rhs[i] = w1 * middle[i] - w0 * m[i];
    solve(mesh, h, to, rhs, out);
}

static void backward_euler(const struct mesh *mesh, double from, double to, double dt,
                           const double m[N], double out[N])
{
    double rhs[N];

    memcpy(out, m, sizeof rhs);
    for (int k = 1; k <= CAUTIOUS_STEPS; k++) {
        memcpy(rhs, out, sizeof rhs);
        solve(mesh, dt / CAUTIOUS_STEPS, from + (to - from) * k / CAUTIOUS_STEPS, rhs, out);
    }
}

static bool inside(const double m[N], const double new_m[N], double from, double to)
{
    double low = fmin(from, to), high = fmax(from, to);
    bool ok = true;

    for (int i = 0; i < N; i++) {
        low = fmin(low, m[i]);
        high = fmax(high, m[i]);
    }
    for (int i = 0; i < N; i++)
        ok = ok && new_m[i] >= low - 1e-9 && new_m[i] <= high + 1e-9;
    return ok;
}

void sr_board_step_checked(struct sr_board *b, double emc_from_pct, double emc_to_pct,
                           double d_m2_s, double dt_s)
{
    /* D is taken at the moisture half way through the step, found by a first go at it. */
    const int rounds = b->spec.d_per_pct > 0.0 ? 2 : 1;
    const double air = 0.5 * (emc_from_pct + emc_to_pct);
    double m[N], half[N], next[N];
    struct mesh mesh;

    memcpy(m, b->moisture_pct, sizeof m);
    memcpy(half, m, sizeof half);
    for (int round = 0; round < rounds; round++) {
        mesh_at(&b->spec, d_m2_s, half, air, &mesh);
        tr_bdf2(&mesh, emc_from_pct, emc_to_pct, dt_s, m, next);
        if (!inside(m, next, emc_from_pct, emc_to_pct))
            backward_euler(&mesh, emc_from_pct, emc_to_pct, dt_s, m, next);
        for (int i = 0; i < N; i++)
            half[i] = 0.5 * (m[i] + next[i]);
    }
    for (int i = 0; i < N; i++) /* rounding may leave a cell a breath outside */
        b->moisture_pct[i] = fmin(fmax(next[i], 0.0), BOARD_MOISTURE_MAX_PCT);
}

void sr_board_step_read(const struct sr_board *b, struct sr_board_answer *out)
{
    const double *m = b->moisture_pct;
    const double depth = depth_of(&b->spec);
    double width[N], sum = 0.0;

    widths(&b->spec, width);
    for (int i = 0; i < N; i++)
        sum += m[i] * width[i];

    double surface = b->air_pct;
    if (b->spec.surface_m_s > 0.0) {
        const double d = b->spec.d_m2_s;
        const double flux =
            pass_at_face(&b->spec, d, width[0], m[0], b->air_pct) * (b->air_pct - m[0]);
        surface -= flux / b->spec.surface_m_s;
    }
    /* No slope at the core: a parabola through the means of the last two cells ends there. */
    const double last = width[N - 1], both = last + width[N - 2];
    const double bend =
        (m[N - 2] - m[N - 1]) /
        ((both * both * both - last * last * last) / (3.0 * width[N - 2]) - last * last / 3.0);
    const double core = m[N - 1] - bend * last * last / 3.0;

    *out = (struct sr_board_answer){.mean_pct = sum / depth,
                                    .surface_pct = surface,
                                    .core_pct = core,
                                    .gradient_pct_mm = (surface - core) / (1000.0 * depth)};
}
