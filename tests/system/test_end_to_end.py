"""The daemon against a device by others whose value advances at each request: no reading lost,
doubled, shifted or changed, over TCP and over RTU, in the tail, in the export and in day files.

SECONDS in the environment says how long each line is polled (default 30).
"""
import calendar
import hashlib
import os
import statistics
import subprocess
import sys
import tempfile
import time
import unittest

BUILD = sys.argv.pop(1)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), os.pardir))
from support.daemon import Studio, days_ini  # noqa: E402
from support.device import Device  # noqa: E402

SECONDS = int(os.environ.get("SECONDS", "30"))
OVERRUN = 16  # enum gap_reason


def instrument(name, bus, zone):
    return (f"[instrument {name}]\nbus = {bus}\nunit = 1\nserial = {name}\nevery = 1 s\n"
            f"zone = {zone}\nread = temperature input 0 int16 x0.01\n"
            f"read = humidity input 1 uint16 x0.01\n"
            f"[zone {zone}]\ntitle = {zone}\npurpose = store\n")


class EverySecond(unittest.TestCase):
    """Both lines at once, on one daemon."""

    @classmethod
    def setUpClass(cls):
        cls.devices = {"tcp": Device(), "rtu": Device(rtu=True)}
        body = "".join(d.site_bus(f"by-{name}") + instrument(name, f"by-{name}", f"room-{name}")
                       for name, d in cls.devices.items())
        cls.studio = Studio(BUILD, body)
        cls.studio.start()
        time.sleep(SECONDS)
        cls.status = cls.studio.stop()

    @classmethod
    def tearDownClass(cls):
        cls.studio.close()
        for device in cls.devices.values():
            device.close()

    def landed(self, line, quantity):
        rows = self.studio.sql(
            "SELECT t, value, flags FROM tail JOIN channel ON channel.id = tail.channel JOIN"
            " instrument ON instrument.id = channel.instrument WHERE instrument.name ="
            f" '{line}' AND quantity = '{quantity}' ORDER BY seq")
        return [tuple(map(int, row)) for row in rows]

    def compare(self, line):
        self.assertEqual(0, self.status, self.studio.words())
        served = self.devices[line].served()
        got = self.landed(line, "temperature")
        self.assertGreater(len(served), SECONDS // 2)
        # Nothing lost, doubled or changed: the very numbers, in the order they were given.
        self.assertEqual([number for _, number in served], [value for _, value, _ in got])
        self.assertEqual([number + 1000 for _, number in served],
                         [value for _, value, _ in self.landed(line, "humidity")])
        self.assertEqual({0}, {flags for _, _, flags in got})
        # Nothing shifted: each bears the second in whose middle it was asked for.
        lags = [at - t for (at, _), (t, _, _) in zip(served, got)]
        self.assertGreater(min(lags), 0.45)
        self.assertTrue(0.45 < statistics.median(lags) < 1.0, lags)
        stamps = [t for t, _, _ in got]
        self.assertEqual(sorted(set(stamps)), stamps)
        # A slot that a busy machine let pass is a gap; no other second is missing.
        missing = set(range(stamps[0], stamps[-1])) - set(stamps)
        gaps = self.studio.sql(
            "SELECT from_t, to_t, reason FROM gap JOIN channel ON channel.id = gap.channel JOIN"
            f" instrument i ON i.id = instrument WHERE i.name = '{line}' AND quantity ="
            " 'temperature' AND to_t IS NOT NULL")
        for t in missing:
            self.assertTrue([g for g in gaps if int(g[0]) <= t < int(g[1])], f"{t} is silent")
        self.assertLess(len(missing), SECONDS // 3)
        print(f"{line}: {len(served)} served, {len(got)} landed, {len(missing)} slots missed, "
              f"asked {min(lags) - 0.5:.3f} to {max(lags) - 0.5:.3f} s after the slot")

    def test_tcp_lands_as_it_was_served(self):
        self.compare("tcp")

    def test_rtu_lands_as_it_was_served(self):
        self.compare("rtu")

    def test_the_export_says_the_same(self):
        for line in self.devices:
            rows = self.studio.export(f"room-{line}", "temperature", "humidity")
            got = [(calendar.timegm(time.strptime(row["time"], "%Y-%m-%dT%H:%M:%SZ")),
                    row["temperature"], row["humidity"], row["flags"]) for row in rows]
            want = [(t, f"{value / 100:.2f}", f"{(value + 1000) / 100:.2f}", "")
                    for t, value, _ in self.landed(line, "temperature")]
            self.assertGreater(len(want), SECONDS // 2)
            self.assertEqual(want, got)


class ClosedDays(unittest.TestCase):
    """Simulated days through the recorder, inflated by the stock sqlite3 shell."""

    DAYS = 3
    START = 1767225600  # 2026-01-01T00:00:00Z

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="stillroom-test-")
        self.studio = Studio(BUILD, days_ini(), folder=self.folder.name)

    def tearDown(self):
        self.folder.cleanup()

    def test_inflated_days_hold_every_reading_as_received(self):
        done = subprocess.run([os.path.join(BUILD, "tests", "helper_days"), self.studio.site,
                               str(self.START), str(self.DAYS * 1440 + 30), "--list"],
                              capture_output=True, text=True, timeout=120)
        self.assertEqual(0, done.returncode, done.stderr)
        put = {}
        for line in done.stdout.splitlines():
            channel, t, value = map(int, line.split())
            put.setdefault((channel, t // 86400), []).append((t, value))
        rows = self.studio.sql("SELECT channel, day, n, hex(digest), hex(sqlar_uncompress(data,"
                               " size)) FROM day ORDER BY channel, day")
        self.assertEqual(4 * self.DAYS, len(rows))
        for channel, day, n, digest, text in rows:
            text = bytes.fromhex(text)
            self.assertEqual(digest.lower(), hashlib.sha256(text).hexdigest())
            lines = [tuple(map(int, line.split(","))) for line in text.decode().splitlines()]
            self.assertEqual(int(n), len(lines))
            self.assertEqual(put.pop((int(channel), int(day))), [(t, v) for t, v, _ in lines])
        # What is left was put after the last midnight, and stands in the tail.
        left = {(c, t, v) for (c, _), values in put.items() for t, v in values}
        tail = {tuple(map(int, row)) for row in
                self.studio.sql("SELECT channel, t, value FROM tail")}
        self.assertEqual(4 * 30, len(left))
        self.assertEqual(left, tail)


if __name__ == "__main__":
    unittest.main(verbosity=2)
