"""Boards and mould against scipy, live: an ODE solution on 400 even cells, the analytic
series, and an ODE solution of the mould index.  Argument: the build folder.
"""
import os
import random
import sys

import numpy as np
from scipy.integrate import solve_ivp

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from peers import Library, Tally

HOUR = 3600.0
DAY = 24 * HOUR


def series_mean(fo):  # Crank (1975), plane sheet
    k = 2 * np.arange(2000) + 1
    return 1 - np.sum(8 / (k * np.pi) ** 2 * np.exp(-(k * np.pi) ** 2 * fo))


def series_centre(fo):
    n = np.arange(2000)
    k = 2 * n + 1
    return 1 - np.sum((-1.0) ** n * 4 / (k * np.pi) * np.exp(-(k * np.pi) ** 2 * fo))


def gain(length, d, period):
    z = (1 + 1j) * length / 2 * np.sqrt(np.pi / (period * d))
    return abs(np.tanh(z) / z)


def compare_series(tally, library, rng):
    fos = [10 ** rng.uniform(-3.9, 0.5) for _ in range(5000)]
    means = library.values([("slab_mean", fo) for fo in fos])
    centres = library.values([("slab_centre", fo) for fo in fos])
    for fo, mean, centre in zip(fos, means, centres):
        tally.near("series, mean", mean, series_mean(fo), 1e-9, at=fo)
        tally.near("series, centre", centre, series_centre(fo), 1e-9, at=fo)
    asked = [(rng.uniform(1e-3, 0.1), 2, 10 ** rng.uniform(-11.5, -9.5),
              10 ** rng.uniform(3, 8)) for _ in range(1000)]
    for q, got in zip(asked, library.values([("slab_gain", *q) for q in asked])):
        tally.near("gain", got, gain(q[0], q[2], q[3]), 1e-9, at=q)


class Peer:
    """The same board by the method of lines on 400 even cells and an implicit ODE solver."""

    def __init__(self, depth, d, surface, per_pct, start, cells=400):
        self.dx, self.cells = depth / cells, cells
        self.d, self.surface, self.per_pct = d, surface, per_pct
        self.m = np.full(cells, float(start))

    def rate(self, m, air):
        d_face = self.d * np.exp(self.per_pct * (0.5 * (m[1:] + m[:-1]) - 10.0))
        d_0 = self.d * np.exp(self.per_pct * (0.5 * (m[0] + air) - 10.0))
        resistance = 0.5 * self.dx / d_0 + (1 / self.surface if self.surface > 0 else 0.0)
        flux = np.concatenate(([(air - m[0]) / resistance], d_face * (m[:-1] - m[1:]) / self.dx,
                               [0.0]))
        return (flux[:-1] - flux[1:]) / self.dx

    def go(self, start, end, seconds):
        done = solve_ivp(lambda t, m: self.rate(m, start + (end - start) * t / seconds),
                         (0, seconds), self.m, method="LSODA", rtol=1e-7, atol=1e-9,
                         lband=1, uband=1)
        assert done.success, done.message
        self.m = done.y[:, -1]

    def now(self):
        # At the sealed face the slope is nil: a parabola through the last two cells.
        return float(np.mean(self.m)), float(self.m[-1] + (self.m[-1] - self.m[-2]) / 8)


def compare_board(tally, library, rng, per_pct, surface, faces, limit):
    """Uneven steps, ramps and jumps of the air's moisture, over some weeks."""
    thickness, d, start = rng.uniform(0.005, 0.03), 10 ** rng.uniform(-10.5, -9.6), 9.0
    peer = Peer(thickness / faces, d, surface, per_pct, start)
    script = [("board_begin", thickness, faces, d, surface, per_pct, 0, start)]
    air, checks = start, []
    for k in range(40):
        seconds = rng.choice([600.0, HOUR, 2.5 * HOUR, 6 * HOUR, 11 * HOUR])
        to = min(max(air + rng.uniform(-1.5, 1.5), 5.0), 17.0)
        if k % 13 == 5:
            air = to = rng.uniform(6.0, 16.0)  # a jump
        script.append(("board_step", air, to, seconds))
        peer.go(air, to, seconds)
        air = to
        if k % 5 == 4:
            script.append(("board_now",))
            checks.append(peer.now())
    answers = library.ask(script)
    assert len(answers) == len(checks), answers
    kind = f"board ({'D(M)' if per_pct else 'D'}, {faces} open, S {surface:g})"
    for line, (mean, core) in zip(answers, checks):
        got = [float(x) for x in line.split()]
        tally.near(kind + " mean", got[0], mean, limit, at=script[0])
        tally.near(kind + " core", got[2], core, limit, at=script[0])


def mould_rate(index, t, rh):
    """The very sensitive class of Ojanen et al. (2010)."""
    crit = max(-0.00267 * t**3 + 0.160 * t**2 - 3.13 * t + 100 if t <= 20 else 80.0, 80.0)
    x = (crit - rh) / (crit - 100)
    k1 = 1.0 if index < 1 else 2.0
    k2 = max(1 - np.exp(2.3 * (index - (1 + 7 * x - 2 * x * x))), 0.0)
    return k1 * k2 / (7 * 24 * np.exp(-0.68 * np.log(t) - 13.9 * np.log(rh) + 66.02))


def compare_mould(tally, library, rng):
    asked = [(rng.uniform(3, 45), rng.uniform(92, 100), float(rng.randrange(100, 2500)))
             for _ in range(40)]
    for t, rh, hours in asked:
        done = solve_ivp(lambda _, m: [mould_rate(m[0], t, rh)], (0, hours), [0.0],
                         rtol=1e-8, atol=1e-10, max_step=5.0)
        got = library.values([("mould_index", 0, 0, t, rh, hours, 1)])[0]
        tally.near("mould index", got, float(done.y[0, -1]), 0.01, at=(t, rh, hours))


def main():
    library, tally, rng = Library(sys.argv[1]), Tally(), random.Random(1975)
    compare_series(tally, library, rng)
    for per_pct, limit in ((0.0, 0.003), (0.134, 0.01)):
        for surface in (0.0, 1e-7):
            for faces in (1, 2):
                compare_board(tally, library, rng, per_pct, surface, faces, limit)
    compare_mould(tally, library, rng)
    return tally.report()


if __name__ == "__main__":
    sys.exit(main())
