"""A studio of two zones with days recorded on simulated time, with a gap, late readings and alarms
in them, for the tests of bundles and their checks."""
import os
import subprocess

from daemon import Studio, days_ini

START = 1767220000  # 2025-12-31T22:26:40Z
DAY = 86400


def two_zones():
    """The wiring of helper_days, the second instrument in a zone of its own."""
    body = days_ini()
    body = body.replace("serial = 2\nevery = 60 s\nzone = room",
                        "serial = 2\nevery = 60 s\nzone = crate")
    body = body.replace("[limit tank]\nzone = room", "[limit tank]\nzone = crate")
    assert body.count("zone = crate") == 2
    return body + "[zone crate]\ntitle = Crate\npurpose = crate\n"


def run_days(studio, start_s, minutes):
    done = subprocess.run([os.path.join(studio.build, "tests", "helper_days"), studio.site,
                           str(start_s), str(minutes)], capture_output=True, text=True,
                          timeout=240)
    if done.returncode != 0:
        raise AssertionError(done.stderr)


def record(build, days=6):
    """2025-12-31 (its last hour and a half) and `days` days more, closed; one more is open."""
    studio = Studio(build, two_zones())
    run_days(studio, START, 2000)
    # Off for three hours, and then back with a clock that is ten minutes behind once.
    run_days(studio, START + 2000 * 60 + 3 * 3600, 1500)
    end = START + 3500 * 60 + 3 * 3600 - 600
    run_days(studio, end, (START // DAY + 1 + days) * 1440 - end // 60 + 30)
    return studio
