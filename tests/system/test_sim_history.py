"""The demo's past: written by the recorder itself, and the past of the world that is served.

The database is read by SQLite alone (Python's own), not by any part of Stillroom.
"""

import datetime
import os
import sqlite3
import subprocess
import sys
import tempfile
import unittest
import zlib

BUILD = sys.argv.pop(1)
HERE = os.path.dirname(os.path.abspath(__file__))
TEMPLATE = os.path.join(HERE, "..", "..", "contrib", "simulator", "demo.ini")
HISTORY = os.path.join(BUILD, "bin", "stillroom-history")
SIM = os.path.join(BUILD, "bin", "stillroom-sim")
FROM, TO = "2026-06-10T00:00:00Z", "2026-06-24T09:00:00Z"
WORLD = ["--seed", "7", "--world-from", "2026-05-01T00:00:00Z", "--scene", TO]


def utc(text):
    return int(datetime.datetime.fromisoformat(text.replace("Z", "+00:00")).timestamp())


def site_file(folder):
    with open(TEMPLATE, encoding="utf-8") as f:
        text = f.read()
    for key, value in (("@STATE@", folder), ("@PORT@", "8620"), ("@TCP@", "1502"),
                       ("@RTU@", folder + "/line")):
        text = text.replace(key, value)
    lines = ["every = 5 min" if line.startswith("every = ") else line
             for line in text.splitlines()]
    path = os.path.join(folder, "site.ini")
    with open(path, "w", encoding="utf-8") as f:
        f.write("\n".join(lines) + "\n")
    return path


def write(path, *options):
    return subprocess.run([HISTORY, "--site", path, *options], capture_output=True, text=True,
                          timeout=200)


class AFortnight(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.site = site_file(cls.folder.name)
        cls.done = write(cls.site, "--from", FROM, "--to", TO, *WORLD)
        cls.path = os.path.join(cls.folder.name, "stillroom.db")
        cls.db = sqlite3.connect(f"file:{cls.path}?mode=ro", uri=True)

    @classmethod
    def tearDownClass(cls):
        cls.db.close()
        cls.folder.cleanup()

    def one(self, query, *values):
        return self.db.execute(query, values).fetchone()[0]

    def test_it_ends_well_and_the_database_is_whole(self):
        self.assertEqual((0, ""), (self.done.returncode, self.done.stderr))
        self.assertEqual("ok", self.one("PRAGMA integrity_check"))

    def test_every_day_that_is_over_is_closed_and_signed(self):
        first = utc(FROM) // 86400
        days = [d for (d,) in self.db.execute("SELECT day FROM signed_day ORDER BY day")]
        self.assertEqual(list(range(first, first + 14)), days)
        self.assertEqual(0, self.one("SELECT count(*) FROM tail WHERE t < ?",
                                     (first + 14) * 86400))

    def test_a_calm_channel_has_a_reading_every_five_minutes(self):
        channel = self.one("SELECT channel.id FROM channel JOIN instrument ON instrument.id = "
                           "channel.instrument WHERE name = 'st-1' AND quantity = 'humidity'")
        missing = self.one("SELECT coalesce(sum(to_t - from_t), 0) FROM gap WHERE channel = ?",
                           channel)
        rows = self.db.execute("SELECT day, n, size, data FROM day WHERE channel = ? "
                               "ORDER BY day", (channel,)).fetchall()
        self.assertEqual(14 * 288, sum(n for _, n, _, _ in rows) + missing // 300)
        day, n, size, data = rows[3]
        text = zlib.decompress(data) if len(data) < size else data
        lines = [line.split(",") for line in text.decode().splitlines()]
        times = [int(line[0]) for line in lines if line[0].isdigit()]
        self.assertEqual(n, len(times))
        self.assertEqual(day, times[0] // 86400)

    def test_a_failed_dehumidifier_was_alarmed_and_seen(self):
        # The scene has one fail six working days before its moment.
        events = self.db.execute(
            "SELECT to_state, person FROM alarm_event WHERE limit_name IN "
            "('store-plant', 'drying-plant') ORDER BY id").fetchall()
        self.assertIn((1, None), events)
        self.assertIn("keyholder", [person for _, person in events])

    def test_the_simulator_goes_on_where_the_past_ends(self):
        shown = subprocess.run([SIM, "--print", "--start", TO, *WORLD], capture_output=True,
                               text=True, check=True).stdout
        count = 0
        for line in shown.splitlines():
            _, _, _, _, _, name, quantity, value = line.split()
            row = self.db.execute(
                "SELECT tail.value, channel.decimals FROM tail "
                "JOIN channel ON channel.id = tail.channel "
                "JOIN instrument ON instrument.id = channel.instrument "
                "WHERE name = ? AND quantity = ? AND t = ?", (name, quantity, utc(TO))).fetchone()
            with self.subTest(name=name, quantity=quantity):
                self.assertIsNotNone(row)
                self.assertAlmostEqual(float(value), row[0] / 10 ** row[1], places=6)
            count += 1
        self.assertEqual(24, count)


class Mistakes(unittest.TestCase):
    def test_each_has_its_line_and_its_exit_status(self):
        with tempfile.TemporaryDirectory() as folder:
            site = site_file(folder)
            rows = [([], 2, "--help"),
                    (["--from", "then"], 2, "--from then"),
                    (["--from", FROM, "--seed", "-1"], 2, "--seed -1")]
            for options, status, words in rows:
                with self.subTest(options=options):
                    done = write(site, *options)
                    self.assertEqual(status, done.returncode)
                    self.assertIn(words, done.stderr)
            with open(site, "a", encoding="utf-8") as f:
                f.write("[instrument dr-9]\nbus = studio-lan\nunit = 9\nzone = store\nmap = air\n")
            done = write(site, "--from", FROM, "--to", TO)
            self.assertEqual(3, done.returncode)
            self.assertIn("dr-9", done.stderr)

    def test_a_store_that_exists_is_left_alone(self):
        with tempfile.TemporaryDirectory() as folder:
            site = site_file(folder)
            path = os.path.join(folder, "stillroom.db")
            with open(path, "wb") as f:
                f.write(b"somebody's")
            done = write(site, "--from", FROM, "--to", TO)
            self.assertEqual(4, done.returncode)
            self.assertIn("exists", done.stderr)
            with open(path, "rb") as f:
                self.assertEqual(b"somebody's", f.read())


if __name__ == "__main__":
    unittest.main()
