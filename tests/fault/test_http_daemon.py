"""Hostile clients against the real daemon: the record does not notice them.

While two hundred clients drip, streams stand open and a flood of connections comes and goes,
every slot of every sensor must be written down, and the daemon must stop at once when told.
Loopback only, bounded in count and time.
"""

import os
import random
import socket
import sqlite3
import sys
import threading
import time
import unittest

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))
from demo_studio import DemoStudio  # noqa: E402  (the path comes first)

BUILD = sys.argv.pop(1)
SECONDS = 40


class Siege:
    """Clients of several bad kinds, until told to stop."""

    def __init__(self, port):
        self.port = port
        self.over = threading.Event()
        self.counts = {"drip": 0, "flood": 0, "noise": 0}
        self.threads = [threading.Thread(target=target, daemon=True)
                        for target in (self.drip, self.flood, self.noise)]
        self.streams = [self.stream() for _ in range(30)]
        for thread in self.threads:
            thread.start()

    def connect(self):
        return socket.create_connection(("127.0.0.1", self.port), timeout=5)

    def stream(self):
        s = self.connect()
        s.sendall(b"GET /api/v1/events HTTP/1.1\r\nHost: localhost\r\n\r\n")
        return s

    def drip(self):
        clients = [None] * 200
        while not self.over.wait(1):
            for i, s in enumerate(clients):
                try:
                    if s is None:
                        s = clients[i] = self.connect()
                        s.sendall(b"GET /api/v1/zones HTTP/1.1\r\nX-Drip: ")
                    s.sendall(b"a")
                    self.counts["drip"] += 1
                except OSError:
                    if s is not None:
                        s.close()
                    clients[i] = None
        for s in clients:
            if s is not None:
                s.close()

    def flood(self):
        while not self.over.wait(0.2):
            clients = []
            for _ in range(60):
                try:
                    clients.append(self.connect())
                except OSError:
                    break
            self.counts["flood"] += len(clients)
            for s in clients:
                s.close()

    def noise(self):
        rng = random.Random(7)
        while not self.over.wait(0.02):
            try:
                with self.connect() as s:
                    s.sendall(b"GET /api/v1/zones/store/series?quantity=" + rng.randbytes(60)
                              + b" HTTP/1.1\r\nHost: localhost\r\n\r\n")
                self.counts["noise"] += 1
            except OSError:
                pass

    def end(self):
        self.over.set()
        for thread in self.threads:
            thread.join()
        for s in self.streams:
            s.close()


class TheRecordGoesOn(unittest.TestCase):
    def test_no_slot_is_lost_and_the_stop_is_prompt(self):
        studio = DemoStudio(BUILD, days=2)
        try:
            begin = int(time.time()) + 2
            siege = Siege(studio.port)
            slowest, asked = 0.0, 0
            until = time.monotonic() + SECONDS
            while time.monotonic() < until:
                before = time.monotonic()
                status, _, _ = studio.ask("/api/v1/zones")
                slowest = max(slowest, time.monotonic() - before)
                self.assertEqual(status, 200)
                asked += 1
                time.sleep(0.1)
            end = int(time.time()) - 2  # the stop writes down what was read until then
            seconds, status = studio.stop_daemon()
            print(f"{siege.counts}, {asked} honest requests, slowest {slowest:.2f} s, "
                  f"stopped in {seconds:.2f} s")
            siege.end()
            self.assertEqual(status, 0)
            self.assertLess(seconds, 5)
            self.assertGreater(min(siege.counts.values()), 100)
            self.assertLess(slowest, 6)  # being shut out takes ten seconds or more
            self.check_record(studio, begin, end)
        finally:
            studio.close()

    def check_record(self, studio, begin, end):
        """Every slot is a reading, or lies in a gap whose reason is the instrument's own."""
        overflow, resting = 10, 14  # stored numbers of these reasons
        db = sqlite3.connect(studio.db)
        gaps = {}
        for channel, since, until, reason in db.execute(
                "SELECT channel, from_t, coalesce(to_t, ?), reason FROM gap", (end,)):
            gaps.setdefault(channel, []).append((since, until))
            if until > begin:
                self.assertNotIn(reason, (overflow, resting))
        begin, end = begin + begin % 2, end - end % 2  # slots lie on even seconds
        wanted = range(begin, end, 2)
        channels = [row[0] for row in db.execute("SELECT DISTINCT channel FROM tail WHERE t >= ?",
                                                 (begin,))]
        self.assertGreater(len(channels), 15)
        missing = 0
        for channel in channels:
            times = [row[0] for row in db.execute(
                "SELECT t FROM tail WHERE channel = ? AND t >= ? AND t < ?",
                (channel, begin, end))]
            self.assertEqual(len(times), len(set(times)))
            for t in set(wanted) - set(times):
                missing += 1
                self.assertTrue(any(since <= t <= until for since, until in gaps.get(channel, [])),
                                f"slot {t} of channel {channel} is lost without a word")
        print(f"{len(channels) * len(wanted)} slots, {missing} of them gaps with a reason")
        self.assertLess(missing, len(channels) * len(wanted) / 20)
        self.assertEqual(db.execute("PRAGMA integrity_check").fetchone()[0], "ok")
        db.close()


if __name__ == "__main__":
    unittest.main()
