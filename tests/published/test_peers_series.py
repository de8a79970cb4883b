"""Holds percentiles, seasonal means, the EN 15757 band and window ranges against numpy,
pandas and scipy, live, on random years with gaps.  Argument: the build folder."""
import subprocess
import sys

import numpy as np
import pandas as pd
import scipy.signal
import scipy.stats

PEER = sys.argv[1] + "/tests/peer_series"
rng = np.random.default_rng(20241107)
checks = 0


def ask(values, *args):
    text = "".join(f"{float(x)!r}\n" for x in values)
    out = subprocess.run([PEER, *map(str, args)], input=text, capture_output=True, text=True,
                         check=True).stdout
    return np.array([float(x) for x in out.split()])


def near(what, got, want, tolerance):
    global checks
    checks += 1
    got, want = np.atleast_1d(got), np.atleast_1d(want)
    assert got.shape == want.shape, f"{what}: {got.shape} values, not {want.shape}"
    assert np.array_equal(np.isnan(got), np.isnan(want)), f"{what}: unlike gaps"
    worst = max(np.abs(got - want)[~np.isnan(want)], default=0.0)
    assert worst <= tolerance, f"{what}: off by {worst:g}"


def year(hours):
    """Seasons, days, weather and noise, quantised like a sensor; 3 % of hours missing and a
    few long gaps."""
    t = np.arange(hours) / 24
    v = (52 + 9 * np.sin(2 * np.pi * (t - 40) / 365.25) + 4 * np.sin(2 * np.pi * t)
         + scipy.signal.lfilter([0.6], [1, -0.97], rng.normal(size=hours)))
    v = np.round(np.clip(v, 0, 100), 1)
    v[rng.random(hours) < 0.03] = np.nan
    for _ in range(4):
        at = rng.integers(0, hours)
        v[at:at + rng.integers(20, 400)] = np.nan
    return v


# Percentiles: numpy's linear method and scipy's mquantiles(1, 1) are both type 7. Ties, sizes
# around the sort limit, sorted, reversed and constant sets included.
sets = [rng.normal(size=n) for n in (1, 2, 3, 47, 48, 49, 1000, 87600)]
sets += [np.round(rng.normal(size=5000)), np.arange(3000.0), np.arange(3000.0)[::-1],
         np.full(2000, 7.25), np.tile([1.0, 2.0], 900), rng.exponential(size=20001)]
for values in sets:
    for p in (0, 1, 7, 25, 50, 68.2, 93, 99, 100):
        got = ask(values, "percentile", p)
        near(f"P{p} of {values.size}", got, np.percentile(values, p), 1e-12)
        near(f"P{p} of {values.size} (scipy)", got,
             scipy.stats.mstats.mquantiles(values, p / 100, 1, 1), 1e-12)

def seasonal(v):
    """Full half windows within the record, from its first value to its last."""
    there = np.flatnonzero(~np.isnan(v))
    mean = pd.Series(v).rolling(721, center=True, min_periods=541).mean().to_numpy()
    mean[:there[0] + 360] = mean[max(there[-1] + 1 - 360, 0):] = np.nan
    return mean


for hours in (700, 721, 9600, 30000):
    v = year(hours)
    if hours > 9600:
        v[:50] = v[-70:] = np.nan  # empty hours around a record lend it no window
    near(f"mean of {hours} h", ask(v, "mean", 360, 75), seasonal(v), 1e-9)

for hours in (9600, 30000, 87660):
    v = year(hours)
    f = v - seasonal(v)
    f = f[~np.isnan(f)]
    p7, p93 = np.percentile(f, [7, 93])
    got = ask(v, "band")
    near(f"band of {hours} h", got[:3], [f.size, p7, p93], 1e-9)
    outside = [np.sum((f < low) | (f > high))
               for low, high in ((p7, p93), (min(p7, -10), max(p93, 10)))]
    near(f"hours outside of {hours} h", got[3:], outside, 1)  # ties at a percentile: one hour

# The closed window of 24 h holds 25 hourly samples.
v = year(4000)
v = np.where(np.isnan(v), 50.0, v)
windows = pd.Series(v).rolling(25, min_periods=19)
near("range", ask(v, "range", 24), (windows.max() - windows.min()).to_numpy(), 1e-12)

print(f"{checks} comparisons with numpy, pandas and scipy")
