"""`stillroom probe`: which units answer on a bus, and what their registers hold, against pymodbus
by TCP and over a pair of pseudo-terminals; and a serial device that somebody else holds."""

import fcntl
import importlib.util
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import unittest

BUILD = sys.argv.pop(1)
TOOL = os.path.join(BUILD, "bin", "stillroom")
DEVICE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support",
                      "modbus_device.py")

SITE = """\
[bus gateway]
kind = modbus-tcp
address = 127.0.0.1:{port}
response_timeout = 200 ms
[bus bench-line]
kind = modbus-rtu
device = {line}
baud = 19200
parity = none
[instrument dr-2]
bus = gateway
unit = 2
zone = drying-room
read = temperature input 0 int16 x0.1
[zone drying-room]
purpose = drying
"""


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


class Probe(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = folder.name
        self.port = free_port()
        self.ours = os.path.join(self.folder, "ours")
        self.theirs = os.path.join(self.folder, "theirs")
        self.site = os.path.join(self.folder, "site.ini")
        with open(self.site, "w", encoding="utf-8") as file:
            file.write(SITE.format(port=self.port, line=self.ours))

    def start(self, *command):
        process = subprocess.Popen(command, stderr=subprocess.DEVNULL)
        self.addCleanup(process.wait)
        self.addCleanup(process.terminate)

    def serial_pair(self):
        self.start("socat", f"pty,raw,echo=0,link={self.ours}", f"pty,raw,echo=0,link={self.theirs}")
        end = time.time() + 10
        while not (os.path.exists(self.ours) and os.path.exists(self.theirs)):
            self.assertLess(time.time(), end)
            time.sleep(0.05)

    def probe(self, *options):
        return subprocess.run([TOOL, "--site", self.site, "probe", *options],
                              capture_output=True, text=True, check=False, timeout=60)

    def probe_until_it_answers(self, *options):
        end = time.time() + 20
        while True:
            done = self.probe(*options)
            if done.returncode == 0 and json.loads(done.stdout)["units"]:
                return json.loads(done.stdout)
            self.assertLess(time.time(), end, done.stderr)
            time.sleep(0.3)

    def check_found(self, found, bus, names):
        self.assertEqual(found["bus"], bus)
        self.assertEqual([u["unit"] for u in found["units"]], [1, 2])
        self.assertEqual([u["instrument"] for u in found["units"]], names)
        for unit in found["units"]:
            self.assertEqual([t["table"] for t in unit["tables"]], ["input", "holding"])
            # The device has input registers 0 and 1 only, and refuses a run beyond them.
            registers = unit["tables"][0]["registers"]
            self.assertEqual([r["address"] for r in registers], [0, 1])
            self.assertLess((time.time() - registers[1]["value"]) % 65536, 60)

    def test_the_units_of_a_gateway_are_found_with_what_they_hold(self):
        self.start(sys.executable, DEVICE, "tcp", str(self.port), os.path.join(self.folder, "log"))
        found = self.probe_until_it_answers("gateway", "--units", "1-3", "--json", "--timeout",
                                            "300", "--count", "4")
        self.check_found(found, "gateway", [None, "dr-2"])
        words = self.probe("gateway", "--units", "2", "--timeout", "300", "--table", "input",
                           "--count", "2")
        self.assertEqual(words.returncode, 0)
        self.assertIn("unit 2, dr-2\n", words.stdout)
        self.assertNotIn("holding", words.stdout)
        self.assertIn("1 of 1 units answered", words.stderr)

    def test_the_units_of_a_serial_line_are_found_with_what_they_hold(self):
        self.serial_pair()
        self.start(sys.executable, DEVICE, "rtu", self.theirs, os.path.join(self.folder, "log"))
        found = self.probe_until_it_answers("bench-line", "--units", "1-3", "--json", "--timeout",
                                            "300", "--count", "4")
        self.check_found(found, "bench-line", [None, None])

    def test_a_device_that_another_master_holds_is_left_alone(self):
        self.serial_pair()
        other = os.open(self.ours, os.O_RDWR | os.O_NOCTTY)
        self.addCleanup(os.close, other)
        fcntl.flock(other, fcntl.LOCK_EX | fcntl.LOCK_NB)
        done = self.probe("bench-line")
        self.assertEqual(done.returncode, 4)
        self.assertEqual(done.stdout, "")
        self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)
        self.assertIn("another program is using it", done.stderr)
        self.assertIn("stop stillroomd first", done.stderr)

    def test_a_line_that_is_not_there_is_said_in_one_line(self):
        for bus, word in (("bench-line", self.ours), ("gateway", f"127.0.0.1:{self.port}")):
            done = self.probe(bus)
            self.assertEqual(done.returncode, 4)
            self.assertEqual(len(done.stderr.splitlines()), 1, done.stderr)
            self.assertIn(word, done.stderr)

    def test_wrong_arguments_are_refused_with_what_is_allowed(self):
        for options, status, word in ((["gate"], 3, "gateway, bench-line"),
                                      (["gateway", "--units", "3-1"], 3, "0 to 255"),
                                      (["gateway", "--units", "1-256"], 3, "0 to 255"),
                                      (["bench-line", "--units", "0-3"], 3, "1 to 247"),
                                      (["gateway", "--table", "inputs"], 3, "holding"),
                                      (["gateway", "--count", "0"], 3, "1 to 100"),
                                      (["gateway", "--address", "65530"], 3, "65535"),
                                      (["gateway", "--timeout", "1s"], 3, "5000"),
                                      ([], 2, "usage"),
                                      (["gateway", "--write"], 2, "usage")):
            done = self.probe(*options)
            self.assertEqual(done.returncode, status, options)
            self.assertIn(word, done.stderr)
            self.assertEqual(done.stdout, "")

    def test_help_needs_no_site(self):
        done = subprocess.run([TOOL, "probe", "--help"], capture_output=True, text=True, check=False)
        self.assertEqual(done.returncode, 0)
        self.assertIn("--units", done.stdout)


if __name__ == "__main__":
    for module in ("pymodbus", "serial_asyncio"):
        if importlib.util.find_spec(module) is None:
            print(f"skipped: python3 has no {module}")
            sys.exit(77)
    if shutil.which("socat") is None:
        print("skipped: no socat")
        sys.exit(77)
    unittest.main()
