"""contrib/demo from its start to live readings, a stop, and a second run of the same studio."""

import json
import os
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import unittest
import urllib.request

BUILD = os.path.abspath(sys.argv.pop(1))
ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
DEMO = os.path.join(ROOT, "contrib", "demo")


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def get(port, path):
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{path}", timeout=10) as answer:
        return json.load(answer)


class Demo:
    """A running demo; its output is read up to the line with the address."""

    def __init__(self, folder):
        self.port = free_port()
        self.process = subprocess.Popen(
            [DEMO, "--no-install", "--port", str(self.port), "--keep", folder],
            env={**os.environ, "STILLROOM_BUILD": BUILD}, start_new_session=True, text=True,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT)
        self.lines = []
        for line in self.process.stdout:
            self.lines.append(line)
            if "Stop by Ctrl-C" in line:
                return
        raise AssertionError("".join(self.lines))

    def said(self, words):
        return any(words in line for line in self.lines)

    def stop(self, number, group):
        if group:  # as a terminal does for Ctrl-C
            os.killpg(self.process.pid, number)
        else:
            self.process.send_signal(number)
        rest, _ = self.process.communicate(timeout=60)
        return self.process.returncode, rest


class TheWholeDemo(unittest.TestCase):
    def test_first_run_stop_and_second_run(self):
        with tempfile.TemporaryDirectory() as folder:
            state = os.path.join(folder, "a studio")
            first = Demo(state)
            began = self.check_running(first)
            self.assertTrue(first.said("DEMO"))
            self.assertTrue(first.said(f"http://127.0.0.1:{first.port}/"))
            self.assertEqual((0, "Stopped.\n"), first.stop(signal.SIGINT, group=True))
            self.check_stopped(first, state)

            second = Demo(state)
            self.assertFalse(second.said("Making"))
            self.assertEqual(began, self.check_running(second))
            self.assertEqual((0, "Stopped.\n"), second.stop(signal.SIGTERM, group=False))
            self.check_stopped(second, state)

    def check_running(self, demo):
        """Live values in every zone and a year of chart; returns where the chart begins."""
        self.assertEqual("ok", get(demo.port, "/healthz")["status"])
        self.assertTrue(get(demo.port, "/api/v1/studio")["demo"])
        zones = get(demo.port, "/api/v1/zones")["zones"]
        self.assertEqual({"drying-room", "frame-bench", "store", "quarantine", "gallery",
                          "outdoor"}, {z["id"] for z in zones})
        now = time.time()
        for zone in zones:
            self.assertLess(now - zone["now"]["t"], 90, zone["id"])
        to = int(now)
        year = get(demo.port, "/api/v1/zones/store/series?quantity=humidity"
                   f"&from={to - 400 * 86400}&to={to}&points=800")
        self.assertGreater(len(year["t"]), 400)
        means = [m for m in year["mean"] if m is not None]
        self.assertTrue(all(30 < m < 75 for m in means))
        return year["t"][0] // (2 * 86400)

    def check_stopped(self, demo, state):
        self.assertFalse(os.path.lexists(os.path.join(state, "line")))
        with self.assertRaises(OSError):
            socket.create_connection(("127.0.0.1", demo.port), timeout=2).close()
        db = sqlite3.connect(f"file:{state}/stillroom.db?mode=ro", uri=True)
        self.assertEqual("ok", db.execute("PRAGMA quick_check").fetchone()[0])
        self.assertGreater(db.execute("SELECT count(*) FROM signed_day").fetchone()[0], 400)
        db.close()


class Mistakes(unittest.TestCase):
    def run_demo(self, *options):
        return subprocess.run([DEMO, "--no-install", *options], capture_output=True, text=True,
                              env={**os.environ, "STILLROOM_BUILD": BUILD}, timeout=60)

    def test_each_gives_one_line_and_its_exit_status(self):
        with socket.socket() as taken, tempfile.NamedTemporaryFile() as file:
            taken.bind(("127.0.0.1", 0))
            taken.listen()
            port = str(taken.getsockname()[1])
            rows = [(["--port", "0"], 2, "1-65535"), (["--port", "99999"], 2, "1-65535"),
                    (["--port"], 2, "--port"), (["--loud"], 2, "--help"),
                    (["--port", port], 4, f"port {port} is in use"),
                    (["--port", str(free_port()), "--keep", file.name + "/x"], 4, "--keep")]
            for options, status, words in rows:
                with self.subTest(options=options):
                    done = self.run_demo(*options)
                    self.assertEqual(status, done.returncode)
                    line = done.stderr.splitlines()[-1]
                    self.assertTrue(line.startswith("contrib/demo: "))
                    self.assertIn(words, line)

    def test_help_says_what_it_does(self):
        done = self.run_demo("--help")
        self.assertEqual((0, ""), (done.returncode, done.stderr))
        for option in ("--port", "--keep", "--no-install"):
            self.assertIn(option, done.stdout)


if __name__ == "__main__":
    unittest.main()
