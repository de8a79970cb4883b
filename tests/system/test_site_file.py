"""The daemon and a wrong site file: all mistakes at once, exit 3 and no start; a wrong reload
changes nothing and says so, a sound one is taken whole."""

import json
import os
import re
import signal
import socket
import subprocess
import sys
import tempfile
import time
import unittest
import urllib.request

BUILD = sys.argv.pop(1)
DAEMON = os.path.join(BUILD, "bin", "stillroomd")

TEN_MISTAKES = """\
[studio]
timezone = Europe/Londn
altitude_m = high
[http]
listen = 8620
[bus line]
kind = modbus-rtu
device = /dev/ttyUSB0
boud = 9600

[instrument a]
bus = lime
unit = 248
zone = room
read = temperature input 65536 int16
[zone room]
purpose = drying
purpose = bench
[limit damp]
zone = room
rule = humidity over 65
[heater]
on = yes
"""
THEIR_LINES = [2, 3, 5, 9, 12, 13, 15, 18, 21, 22]


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class SiteFile(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name
        self.site = os.path.join(self.folder, "site.ini")
        self.port = free_port()

    def write(self, text):
        with open(self.site, "w", encoding="utf-8") as f:
            f.write(text)

    def sound(self, *zones):
        self.write(f"[studio]\nclock = trusted\n[store]\npath = {self.folder}/s.db\n"
                   f"[http]\nlisten = 127.0.0.1:{self.port}\n"
                   + "".join(f"[zone {z}]\n" for z in zones))

    def run_daemon(self, *options):
        return subprocess.run([DAEMON, "--site", self.site, *options], capture_output=True,
                              text=True, timeout=20)

    def zones(self):
        with urllib.request.urlopen(f"http://127.0.0.1:{self.port}/api/v1/zones", timeout=5) as r:
            return [zone["id"] for zone in json.load(r)["zones"]]

    def wait_for(self, what, holds, seconds=15):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            try:
                if holds():
                    return
            except OSError:
                pass
            time.sleep(0.05)
        self.fail(f"{what} did not come within {seconds} s")

    def test_ten_mistakes_are_ten_lines_and_no_start(self):
        self.write(TEN_MISTAKES)
        for options in ([], ["--check"]):
            done = self.run_daemon(*options)
            self.assertEqual(done.returncode, 3)
            lines = done.stderr.splitlines()
            self.assertEqual(len(lines), 10, done.stderr)
            for line, number in zip(lines, THEIR_LINES):
                self.assertTrue(line.startswith(f"{self.site}:{number}: "), line)
                self.assertRegex(line, r"; allowed: .")
            self.assertEqual(done.stdout, "")
            self.assertEqual(os.listdir(self.folder), ["site.ini"], "nothing was made")

    def test_check_only_checks(self):
        self.sound("room")
        done = self.run_daemon("--check")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(done.stderr, "")
        self.assertEqual(os.listdir(self.folder), ["site.ini"], "nothing was made")

    def test_a_file_that_cannot_be_read_is_one_line(self):
        for path in (self.site, self.folder):
            done = subprocess.run([DAEMON, "--site", path], capture_output=True, text=True,
                                  timeout=20)
            self.assertEqual(done.returncode, 4)
            self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)
            self.assertIn(path, done.stderr)
            self.assertIn("cannot be read", done.stderr)

    def test_a_reload_is_whole_or_not_at_all(self):
        self.sound("room")
        log = os.path.join(self.folder, "log")
        with open(log, "w", encoding="utf-8") as f:
            daemon = subprocess.Popen([DAEMON, "--site", self.site], stderr=f)
        self.addCleanup(daemon.wait, 20)
        self.addCleanup(daemon.kill)

        def said(pattern):
            with open(log, encoding="utf-8") as f:
                return len(re.findall(pattern, f.read(), re.MULTILINE))

        self.wait_for("the first page", lambda: self.zones() == ["room"])

        self.write(TEN_MISTAKES)
        daemon.send_signal(signal.SIGHUP)
        self.wait_for("the word about it", lambda: said("nothing was changed") == 1)
        self.assertEqual(said(rf"^{re.escape(self.site)}:\d+: .*; allowed: "), 10)
        self.assertEqual(self.zones(), ["room"])
        self.assertIsNone(daemon.poll())

        # Sound but for its last line: no part of it may be taken.
        self.sound("room", "cellar", "Attic")
        daemon.send_signal(signal.SIGHUP)
        self.wait_for("the word about it", lambda: said("nothing was changed") == 2)
        self.assertEqual(self.zones(), ["room"])

        os.unlink(self.site)
        daemon.send_signal(signal.SIGHUP)
        self.wait_for("the word about it", lambda: said("nothing was changed") == 3)
        self.assertEqual(self.zones(), ["room"])

        self.sound("room", "cellar")
        daemon.send_signal(signal.SIGHUP)
        self.wait_for("the new zone", lambda: self.zones() == ["room", "cellar"])

        daemon.send_signal(signal.SIGTERM)
        self.assertEqual(daemon.wait(20), 0)


if __name__ == "__main__":
    unittest.main(verbosity=2)
