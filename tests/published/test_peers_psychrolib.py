"""Moist air against psychrolib, a general-purpose library of ASHRAE's equations, live, at 12,000
random points.  Argument: the build folder.

It takes the ice curve for everything below 0.01 degC, where humidity here is over water: there
its saturation pressure is our ice curve, and its dew point our frost point.
"""
import json
import os
import random
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from peers import Library, Tally, npm_folder

TRIPLE_C = 0.01
TRIPLE_PA = 611.6570  # where the two curves meet; around it the library may take either


def ask_psychrolib(folder, lines):
    done = subprocess.run(["node", os.path.join(HERE, "psychrolib_answers.js")], cwd=folder,
                          input="\n".join(lines), capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def compare(tally, library, folder, points):
    theirs = ask_psychrolib(folder, [f"{t!r} {rh / 100!r} {p!r}" for t, rh, p in points])
    names = ["svp_water", "vapour_pressure", "ratio", "enthalpy", "wet_bulb", "vpd"]
    arity = {"svp_water": 1, "vapour_pressure": 2, "vpd": 2}
    ours = {n: library.values([(n, *pt[:arity.get(n, 3)]) for pt in points]) for n in names}
    wet = [i for i, pt in enumerate(points) if ours["vapour_pressure"][i] > TRIPLE_PA + 0.01]
    frosty = [i for i, pt in enumerate(points) if ours["vapour_pressure"][i] < TRIPLE_PA - 0.01]
    dew = dict(zip(wet, library.values([("dew_point", *points[i][:2]) for i in wet])))
    frost = dict(zip(frosty, library.values([("frost_point", *points[i][:2]) for i in frosty])))
    for i, (point, their) in enumerate(zip(points, theirs)):
        svp, e, w, h, tw, td, vpd = their
        tally.near("saturation pressure", ours["svp_water"][i], svp, relative=1e-13, at=point)
        tally.near("vapour pressure", ours["vapour_pressure"][i], e, relative=1e-13, at=point)
        tally.near("humidity ratio", ours["ratio"][i], w, relative=1e-12, at=point)
        tally.near("enthalpy kJ/kg", ours["enthalpy"][i], h / 1000, 1e-10, 1e-12, at=point)
        if ours["wet_bulb"][i] > 0.01 and tw > 0.01:
            tally.near("wet bulb", ours["wet_bulb"][i], tw, 1e-3, at=point)
        tally.near("vapour pressure deficit", ours["vpd"][i], vpd, 1e-8, 1e-11, at=point)
        if i in dew:
            tally.near("dew point", dew[i], td, 1e-3, at=point)
        elif i in frost:
            tally.near("frost point", frost[i], td, 1e-3, at=point)


def compare_ice(tally, library, folder, rng):
    temperatures = [rng.uniform(-90, TRIPLE_C) for _ in range(2000)]
    theirs = ask_psychrolib(folder, [f"{t!r} 0.5 101325.0" for t in temperatures])
    ours = library.values([("svp_ice", t) for t in temperatures])
    for t, our, their in zip(temperatures, ours, theirs):
        tally.near("saturation pressure over ice", our, their[0], relative=1e-13, at=t)


def compare_altitude(tally, library, folder, rng):
    altitudes = [rng.uniform(-400, 5500) for _ in range(1000)]
    theirs = ask_psychrolib(folder, [f"altitude {z!r}" for z in altitudes])
    ours = library.values([("pressure_at", z) for z in altitudes])
    for z, our, their in zip(altitudes, ours, theirs):
        tally.near("pressure at altitude", our, their[0], relative=1e-13, at=z)


def main():
    build = sys.argv[1]
    library, tally, rng = Library(build), Tally(), random.Random(1983)
    folder = npm_folder(build, HERE)
    points = [(rng.uniform(0.02, 60), rng.uniform(2, 100), rng.uniform(60000, 108000))
              for _ in range(12000)]
    points.append((20.0, 50.0, 101325.0))
    compare(tally, library, folder, points)
    compare_ice(tally, library, folder, rng)
    compare_altitude(tally, library, folder, rng)
    return tally.report()


if __name__ == "__main__":
    sys.exit(main())
