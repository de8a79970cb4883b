"""SIGKILL at any moment: nothing that a reader ever saw is lost, every outage is a gap with its
reason, and the chain of signed days is whole.

KILLS in the environment says how often (default 12); SEED repeats a run.
"""
import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import unittest

BUILD = sys.argv.pop(1)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), os.pardir))
from support import chain  # noqa: E402
from support.daemon import Studio, days_ini  # noqa: E402
from support.device import Device  # noqa: E402

KILLS = int(os.environ.get("KILLS", "12"))
SEED = int(os.environ.get("SEED", str(time.time_ns() % 1000000)))
UNCLEAN = 9  # enum gap_reason
DAY = 86400


class Helper:
    """helper_days on a store, killed or not."""

    def __init__(self, folder):
        self.studio = Studio(BUILD, days_ini(), folder=folder)
        self.counts = {}

    def run(self, start, minutes, *options):
        done = subprocess.run([os.path.join(BUILD, "tests", "helper_days"), self.studio.site,
                               str(start), str(minutes), *options], capture_output=True,
                              text=True, timeout=120)
        if done.returncode not in (0, -9):
            raise AssertionError(done.stderr)
        self.counts = dict(line.split() for line in done.stderr.splitlines()
                           if line.startswith(("closing ", "operations ")))
        return done.returncode == -9

    def unborn(self):
        """Killed in its first transaction, which only a writer can take back."""
        return os.path.exists(self.studio.db + "-journal")

    def last(self):
        """The newest reading that is surely written; 0 if there is not even a table for it."""
        if self.unborn() or not os.path.exists(self.studio.db) or not self.studio.sql(
                "SELECT 1 FROM sqlite_schema WHERE name = 'tail'"):
            return 0
        return int(self.studio.sql(
            "SELECT coalesce((SELECT max(t) FROM tail), (SELECT value FROM meta WHERE key ="
            " 'open_day') * 86400 - 60, 0)")[0][0])


# What must be the same as in a run that nobody disturbed.
SAME = (
    "SELECT channel, day, n, hex(digest) FROM day ORDER BY channel, day",
    "SELECT step, series, t, n, min, max, sum FROM rollup_row ORDER BY step, series, t",
    "SELECT kind, scope, t, hex(data) FROM state ORDER BY kind, scope",
    "SELECT occurrence, limit_name, t, from_state, to_state, value FROM alarm_event ORDER BY id",
    "SELECT channel, t, value, flags FROM tail WHERE t >= (SELECT value FROM meta WHERE key ="
    " 'open_day') * 86400 ORDER BY seq",
    "SELECT channel, from_t, to_t, reason FROM gap",
)


class SimulatedDays(unittest.TestCase):
    START = 1767225600 + 12 * 3600  # 2026-01-01T12:00:00Z
    MINUTES = 2 * 1440

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="stillroom-test-")
        self.dice = random.Random(SEED)
        print(f"SEED={SEED}", flush=True)

    def tearDown(self):
        self.folder.cleanup()

    def store(self, name):
        path = os.path.join(self.folder.name, name)
        os.makedirs(path)
        return Helper(path)

    def whole(self):
        whole = self.store("whole")
        self.assertFalse(whole.run(self.START, self.MINUTES))
        return whole

    def test_killed_days_are_those_of_a_run_without_kills(self):
        whole = self.whole()
        want = [whole.studio.sql(q) for q in SAME]
        self.assertEqual(4 * 2, len(want[0]))
        closing, all_operations = (int(whole.counts[k]) for k in ("closing", "operations"))
        end, kills, run = self.START + 60 * self.MINUTES, 0, 0
        while kills < 2 * KILLS:
            killed = self.store(f"killed-{run}")
            run += 1
            at = self.START
            for _ in range(KILLS):
                if self.dice.random() < 0.5:
                    how = ("--kill-closing", str(self.dice.randrange(closing + 8)))
                else:
                    how = ("--kill", str(self.dice.randrange(all_operations // 3)))
                if not killed.run(at, (end - at) // 60, *how):
                    break
                kills += 1
                at = max(self.START, killed.last() + 60)
                if not killed.unborn():
                    self.assertEqual([("ok",)], killed.studio.sql("PRAGMA integrity_check"))
                if at >= end:  # killed after its last reading was written
                    break
            else:
                self.assertFalse(killed.run(at, (end - at) // 60))
            for question, rows in zip(SAME, want):
                self.assertEqual(rows, killed.studio.sql(question), f"run {run}: {question}")
            texts = chain.check(killed.studio)
            self.assertEqual(2, len(texts))
            self.assertFalse([t for t in texts if "\nnote " in t], texts)
        print(f"{kills} kills in {run} runs of two days", flush=True)

    def test_a_kill_before_the_head_was_written_down_is_no_fork(self):
        """The head file beside the database is then one number behind the chain."""
        killed = self.store("head")
        head = killed.studio.db + ".head"
        killed.run(self.START, 1440)
        with open(head, "rb") as f:
            first = f.read()
        killed.run(self.START + DAY, 1440)
        with open(head, "wb") as f:
            f.write(first)
        killed.run(self.START + 2 * DAY, 1440)
        texts = chain.check(killed.studio)
        self.assertEqual(3, len(texts))
        self.assertFalse([t for t in texts if "\nnote " in t], texts)

    def test_a_copy_put_back_is_noted_as_a_fork(self):
        back = self.store("copy")
        back.run(self.START, 1440)
        copy = back.studio.db + ".copy"
        shutil.copy(back.studio.db, copy)
        back.run(self.START + DAY, 1440)
        shutil.copy(copy, back.studio.db)
        back.run(self.START + DAY, 1440)
        texts = chain.check(back.studio)
        self.assertEqual(2, len(texts))
        self.assertIn("\nnote fork", texts[1])

    def test_every_outage_is_a_gap_with_its_reason_and_the_chain_is_whole(self):
        killed = self.store("outages")
        whole = self.whole()
        closing, all_operations = (int(whole.counts[k]) for k in ("closing", "operations"))
        at, outages = self.START, 0
        for _ in range(KILLS):
            how = self.dice.choice((("--kill-closing", str(self.dice.randrange(closing))),
                                    ("--kill", str(self.dice.randrange(all_operations)))))
            if killed.run(at, self.MINUTES, *how) and os.path.exists(killed.studio.db):
                at = max(at, killed.last()) + 60 * self.dice.randrange(1, 3000)
                outages += 1
            else:
                at += 60 * self.MINUTES
        killed.run(at, 1440)
        self.assertEqual([("ok",)], killed.studio.sql("PRAGMA integrity_check"))
        texts = chain.check(killed.studio)
        self.assertFalse([t for t in texts if "\nnote " in t], texts)
        days = [chain.fields(t)["day"] for t in texts]
        self.assertEqual(sorted(set(days)), days)
        readings = {}
        for channel, t in killed.studio.sql("SELECT channel, t FROM reading"):
            readings.setdefault(int(channel), []).append(int(t))
        self.assertEqual(4, len(readings))
        gaps = [tuple(map(int, row)) for row in killed.studio.sql(
            "SELECT channel, from_t, to_t, reason FROM gap WHERE to_t IS NOT NULL")]
        for channel, times in readings.items():
            self.assertEqual(len(set(times)), len(times))
            mine = [g for g in gaps if g[0] == channel]
            have = set(times)
            for t in range(min(times), max(times), 60):
                covering = [g for g in mine if g[1] <= t < g[2]]
                if t in have:
                    self.assertFalse(covering, f"{t} was read")
                else:
                    self.assertEqual([UNCLEAN], [g[3] for g in covering], f"at {t}")
        self.assertGreater(outages, 0)
        print(f"{outages} outages, {len(texts)} signed days", flush=True)


class Watcher(threading.Thread):
    """Notes all that a reader can see, by HTTP and by SQLite, until told to stop."""

    def __init__(self, studio):
        super().__init__(daemon=True)
        self.studio = studio
        self.over = threading.Event()
        self.seen_http, self.seen_sql, self.signed = set(), set(), set()
        self.looks = 0

    def run(self):
        while not self.over.wait(0.05):
            self.look_by_http()
            self.look_by_sql()
            self.looks += 1

    def look_by_http(self):
        now = int(time.time())
        try:
            zone = self.studio.get("/api/v1/zones/room", timeout=5)
            series = self.studio.get("/api/v1/zones/room/series", timeout=5, points=600,
                                     quantity="temperature", **{"from": now - 590, "to": now + 10})
        except (OSError, ValueError, json.JSONDecodeError):
            return
        except Exception:  # pylint: disable=broad-except  # it was killed while answering
            return
        for t, low, high in zip(series["t"], series["min"], series["max"]):
            self.seen_http.add((t, round(low * 100), round(high * 100)))
        latest = zone["now"].get("temperature") if isinstance(zone.get("now"), dict) else None
        if latest and latest.get("t"):
            self.seen_http.add((latest["t"],) + 2 * (round(latest["value"] * 100),))

    def look_by_sql(self):
        try:
            db = sqlite3.connect(f"file:{self.studio.db}?mode=ro", uri=True, timeout=5)
        except sqlite3.Error:
            return
        try:
            self.seen_sql.update(db.execute("SELECT seq, channel, t, value, flags FROM tail WHERE"
                                            " seq > (SELECT max(seq) - 100 FROM tail)"))
            self.signed.update(db.execute("SELECT day, number, digest FROM signed_day"))
        except sqlite3.Error:
            pass
        finally:
            db.close()


class TheDaemon(unittest.TestCase):
    def setUp(self):
        self.device = Device()
        body = days_ini().replace("address = 127.0.0.1:5020",
                                  f"address = 127.0.0.1:{self.device.port}")
        body = body.replace("every = 60 s", "every = 1 s").replace("x0.1", "x0.01")
        body = body[:body.index("[instrument i2]")] + body[body.index("[zone room]"):
                                                           body.index("[limit tank]")]
        self.studio = Studio(BUILD, body)
        self.dice = random.Random(SEED)
        # Days stand open, so that closing them is among what is killed.
        helper = Helper(self.studio.folder)
        midnight = int(time.time()) // DAY * DAY
        helper.run(midnight - 2 * DAY - 7200, 240)
        self.studio.write_site(body)

    def tearDown(self):
        self.studio.close()
        self.device.close()

    def test_what_a_reader_saw_is_never_lost(self):
        watcher = Watcher(self.studio)
        watcher.start()
        for _ in range(KILLS):
            self.studio.launch()
            # Now and then while it starts, else while it runs, before and after a commit.
            time.sleep(self.dice.choice((self.dice.uniform(0, 0.4), self.dice.uniform(0, 13))))
            self.studio.kill()
            self.assertEqual([("ok",)], self.studio.sql("PRAGMA integrity_check"))
            time.sleep(self.dice.uniform(0, 3))
        self.studio.start()
        time.sleep(12)
        self.assertEqual(0, self.studio.stop(), self.studio.words())
        watcher.over.set()
        watcher.join(30)
        self.check_seen(watcher)
        self.check_slots()
        texts = chain.check(self.studio)
        self.assertFalse([t for t in texts if "\nnote " in t], texts)
        self.assertGreaterEqual(len(texts), 3)
        signed = {(int(d), int(n), bytes.fromhex(h)) for d, n, h in self.studio.sql(
            "SELECT day, number, hex(digest) FROM signed_day")}
        self.assertTrue(watcher.signed)
        self.assertEqual(set(), watcher.signed - signed)

    def check_seen(self, watcher):
        tail = {tuple(map(int, row)) for row in self.studio.sql(
            "SELECT seq, channel, t, value, flags FROM tail")}
        old = {row for row in watcher.seen_sql if row[2] < int(time.time()) // DAY * DAY}
        lost = watcher.seen_sql - old - tail
        self.assertEqual(set(), lost)
        temperature = {(t, value, value) for t, value, _ in self.studio.tail("temperature")}
        self.assertEqual(set(), watcher.seen_http - temperature)
        # A daemon that is killed at once shows nothing; on a loaded machine many are.
        self.assertGreater(len(watcher.seen_http), 2)
        served = {number for _, number in self.device.served()}
        self.assertEqual(set(), {value for _, value, _ in temperature} - served)
        print(f"SEED={SEED}: {watcher.looks} looks saw {len(watcher.seen_sql)} rows and"
              f" {len(watcher.seen_http)} points; {len(temperature)} readings stand", flush=True)

    def check_slots(self):
        """Every second since the first reading of today holds a reading or lies in a gap."""
        for quantity in ("temperature", "humidity"):
            times = [t for t, _, _ in self.studio.tail(quantity) if
                     t >= int(time.time()) // DAY * DAY]
            self.assertEqual(sorted(set(times)), times)
            gaps = [tuple(map(int, row)) for row in self.studio.sql(
                "SELECT from_t, to_t, reason FROM gap JOIN channel ON channel.id = channel WHERE"
                f" quantity = '{quantity}' AND to_t IS NOT NULL")]
            unclean = 0
            for before, after in zip(times, times[1:]):
                if after - before == 1:
                    continue
                reasons = [g[2] for g in gaps if g[0] < after and g[1] > before + 1]
                covered = {t for g in gaps for t in range(g[0], g[1])}
                self.assertEqual(set(), set(range(before + 1, after)) - covered)
                unclean += UNCLEAN in reasons
            # Kills with no reading between them are one outage; on a loaded machine most are.
        self.assertGreater(unclean, 0)


if __name__ == "__main__":
    unittest.main(verbosity=2)
