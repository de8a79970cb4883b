"""Saturation pressure and dew point against IAPWS-IF97 (water) and IAPWS R14-08 (ice), live, at
over 10,000 random points.  Argument: the build folder.

The curves here are Hyland & Wexler's: 3e-4 is what two formulations differ by, not an error.
"""
import os
import random
import sys

from iapws import iapws97
from iapws._iapws import _Sublimation_Pressure

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from peers import Library, Tally


def main():
    library, tally, rng = Library(sys.argv[1]), Tally(), random.Random(1997)
    water = [rng.uniform(0.0, 50.0) for _ in range(6000)]
    for t, p in zip(water, library.values([("svp_water", t) for t in water])):
        tally.near("water, relative", p / (1e6 * iapws97._PSat_T(t + 273.15)), 1.0, 3e-4, at=t)
    ice = [rng.uniform(-30.0, 0.0) for _ in range(4000)]
    for t, p in zip(ice, library.values([("svp_ice", t) for t in ice])):
        tally.near("ice, relative", p / (1e6 * _Sublimation_Pressure(t + 273.15)), 1.0, 3e-4,
                   at=t)
    air = []
    while len(air) < 3000:
        t, rh = rng.uniform(1.0, 50.0), rng.uniform(5.0, 100.0)
        e_mpa = rh / 100 * iapws97._PSat_T(t + 273.15)
        if e_mpa > 6.12e-4:
            air.append((t, rh, iapws97._TSat_P(e_mpa) - 273.15))
    for (t, rh, want), got in zip(air, library.values([("dew_point", t, rh)
                                                       for t, rh, _ in air])):
        tally.near("dew point", got, want, 0.005, at=(t, rh))
    return tally.report()


if __name__ == "__main__":
    sys.exit(main())
