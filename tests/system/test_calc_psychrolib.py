"""`stillroom calc --json` against psychrolib, live: all they share, to 1e-3 in the units printed.
Argument: the build folder."""
import json
import os
import random
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
PUBLISHED = os.path.join(HERE, "..", "published")
sys.path.insert(0, os.path.join(HERE, "..", "support"))
from peers import Tally, npm_folder

SHARED = ("saturation_pressure", "vapour_pressure", "humidity_ratio", "enthalpy", "wet_bulb",
          "dew_point", "vapour_pressure_deficit")


def calc(build, t, rh, p):
    done = subprocess.run([os.path.join(build, "bin", "stillroom"), "calc", "--json",
                           f"--temperature={t!r}", f"--humidity={rh!r}", f"--pressure={p!r}"],
                          capture_output=True, text=True, check=True)
    return json.loads(done.stdout)


def main():
    build, tally, rng = sys.argv[1], Tally(), random.Random(20)
    points = [(20.0, 50.0, 101325.0)]
    points += [(round(rng.uniform(1, 45), 2), round(rng.uniform(20, 100), 2),
                round(rng.uniform(70000, 106000))) for _ in range(150)]
    lines = "\n".join(f"{t!r} {rh / 100!r} {p!r}" for t, rh, p in points)
    theirs = json.loads(subprocess.run(
        ["node", os.path.join(PUBLISHED, "psychrolib_answers.js")],
        cwd=npm_folder(build, PUBLISHED), input=lines, capture_output=True, text=True,
        check=True).stdout)
    for point, (svp, e, w, h, tw, td, vpd) in zip(points, theirs):
        ours = calc(build, *point)
        for name, want in zip(SHARED, (svp, e, 1000 * w, h / 1000, tw, td, vpd)):
            if name == "dew_point" and e <= 611.66:
                name = "frost_point"  # its dew point over ice
            if tw < 0.01 and name == "wet_bulb":
                continue
            assert ours[name]["unit"] and ours[name]["source"], name
            tally.near(name, ours[name]["value"], want, 1e-3, at=point)
    return tally.report()


if __name__ == "__main__":
    sys.exit(main())
