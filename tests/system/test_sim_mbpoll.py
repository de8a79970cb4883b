"""mbpoll, a Modbus master by others, reads the simulator over TCP and over RTU.

What it reads must be what the model says (the simulator's own print), and each fault that can
be asked for must look on the line as the fault that it is.
"""

import os
import re
import signal
import socket
import struct
import subprocess
import sys
import tempfile
import time
import unittest

BUILD = sys.argv.pop(1)
SIM = os.path.join(BUILD, "bin", "stillroom-sim")
START = "2026-08-13T13:00:00Z"


def lines_of(text):
    rows = []
    for line in text.splitlines():
        bus, unit, table, address, form, name, quantity, value = line.split()
        rows.append((bus, int(unit), table, int(address), form, name, quantity, float(value)))
    return rows


class Simulator:
    def __init__(self, *options, factor="0"):
        self.folder = tempfile.TemporaryDirectory()
        self.tty = os.path.join(self.folder.name, "line")
        command = [SIM, "--tcp", "127.0.0.1:0", "--rtu", self.tty, "--seed", "7",
                   "--start", START, "--factor", factor, *options]
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        self.port = int(self.process.stdout.readline().split()[1])
        assert self.process.stdout.readline().split() == ["rtu", self.tty]

    def say(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def print(self):
        self.say("print")
        return lines_of("".join(self.process.stdout.readline() for _ in range(24)))

    def poll(self, bus, unit, table, address, count, form="16", timeout="0.5"):
        """One request by mbpoll: (registers as text, error)."""
        kind = {"discrete": "1", "input": "3", "holding": "4"}[table]
        if form == "float32":
            kind += ":float"
        command = ["mbpoll", "-a", str(unit), "-0", "-r", str(address), "-c", str(count),
                   "-t", kind, "-B", "-1", "-q", "-o", timeout]
        if bus == "tcp":
            command += ["-m", "tcp", "-p", str(self.port), "127.0.0.1"]
        else:
            command += ["-m", "rtu", "-b", "9600", "-P", "even", self.tty]
        done = subprocess.run(command, capture_output=True, text=True, timeout=30)
        values = re.findall(r"^\[(\d+)\]:\s+(\S+)(?: \((-\d+)\))?", done.stdout, re.M)
        return [float(signed or plain) for _, plain, signed in values], done.stderr

    def close(self):
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        _, errors = self.process.communicate(timeout=10)
        self.folder.cleanup()
        return self.process.returncode, errors


class FromTheModel(unittest.TestCase):
    def setUp(self):
        self.sim = Simulator()

    def tearDown(self):
        self.assertEqual((0, ""), self.sim.close())

    def test_every_channel_reads_as_the_model_says(self):
        rows = self.sim.print()
        self.assertEqual(24, len(rows))
        for bus, unit, table, address, form, name, quantity, value in rows:
            with self.subTest(name=name, quantity=quantity):
                got, errors = self.sim.poll(bus, unit, table, address, 1, form)
                self.assertEqual("", errors)
                scale = 10.0 if form in ("int16", "uint16") else 1.0
                self.assertEqual(1, len(got))
                self.assertAlmostEqual(value, got[0] / scale, places=4)

    def test_the_print_option_says_the_same(self):
        done = subprocess.run([SIM, "--print", "--seed", "7", "--start", START],
                              capture_output=True, text=True, check=True)
        self.assertEqual(self.sim.print(), lines_of(done.stdout))

    def test_neighbouring_registers_come_in_one_answer(self):
        rows = [r for r in self.sim.print() if r[5] == "st-1"]
        got, _ = self.sim.poll("rtu", 11, "input", 0, 2)
        self.assertEqual([round(r[7] * 10) for r in rows], got)

    def test_what_is_not_there_is_refused(self):
        self.assertIn("Illegal data address", self.sim.poll("tcp", 1, "input", 2, 2)[1])
        self.assertIn("Illegal data address", self.sim.poll("rtu", 11, "holding", 0, 1)[1])
        self.assertIn("Target device failed", self.sim.poll("tcp", 99, "input", 0, 1)[1])
        self.assertIn("timed out", self.sim.poll("rtu", 1, "input", 0, 1)[1])


class Misbehaving(unittest.TestCase):
    def setUp(self):
        self.sim = Simulator()

    def tearDown(self):
        self.assertEqual((0, ""), self.sim.close())

    def test_faults_of_the_line(self):
        rows = [("exception:4", "tcp", 1, "Slave device or server failure"),
                ("exception:6", "rtu", 11, "Slave device or server is busy"),
                ("silent", "tcp", 1, "timed out"),
                ("silent", "rtu", 11, "timed out"),
                ("short", "rtu", 11, "timed out"),
                ("garbled", "rtu", 11, "Invalid CRC"),
                ("late:900", "tcp", 1, "timed out"),
                ("late:900", "rtu", 11, "timed out")]
        for fault, bus, unit, message in rows:
            with self.subTest(fault=fault, bus=bus):
                self.sim.say(f"misbehave {unit}:{fault}")
                got, errors = self.sim.poll(bus, unit, "input", 0, 2)
                self.assertEqual([], got)
                self.assertIn(message, errors)
                self.sim.say("behave")
                time.sleep(1.0)  # a late answer must not meet the next row
                got, errors = self.sim.poll(bus, unit, "input", 0, 2)
                self.assertEqual((2, ""), (len(got), errors))

    def exchange(self, unit, transaction=0x1234):
        """One raw request for two registers over TCP: (answer, seconds until its first byte)."""
        with socket.create_connection(("127.0.0.1", self.sim.port), timeout=5) as s:
            begin = time.monotonic()
            s.sendall(struct.pack(">HHHBBHH", transaction, 0, 6, unit, 4, 0, 2))
            answer = s.recv(1)
            took = time.monotonic() - begin
            while len(answer) < 13:
                more = s.recv(64)
                if not more:
                    break
                answer += more
            return answer, took

    def test_faults_of_single_bytes(self):
        self.assertEqual(bytes.fromhex("1234000000070104"), self.exchange(1)[0][:8])
        self.sim.say("misbehave 1:late:600")
        answer, took = self.exchange(1)
        self.assertEqual(bytes.fromhex("1234000000070104"), answer[:8])
        self.assertGreaterEqual(took, 0.55)
        self.sim.say("behave 1")
        self.sim.say("misbehave 1:garbled")
        self.assertNotEqual(bytes.fromhex("1234"), self.exchange(1)[0][:2])
        self.sim.say("behave 1")
        self.sim.say("misbehave 1:wrong-unit")
        self.assertEqual(2, self.exchange(1)[0][6])
        self.sim.say("behave 1")
        self.sim.say("misbehave 1:drip:50")
        begin = time.monotonic()
        answer, _ = self.exchange(1)
        self.assertEqual(13, len(answer))
        self.assertGreaterEqual(time.monotonic() - begin, 12 * 0.05 * 0.9)

    def test_broken_requests_spoil_no_later_one(self):
        good = struct.pack(">HHHBBHH", 7, 0, 6, 1, 4, 0, 2)
        want = b"\x00\x07\x00\x00\x00\x07\x01\x04\x04"
        rows = [("too short", struct.pack(">HHHBBH", 6, 0, 4, 1, 4, 0)),
                ("too long", struct.pack(">HHHBBHHH", 6, 0, 8, 1, 4, 0, 2, 0xffff)),
                ("unknown function", struct.pack(">HHHBBHH", 6, 0, 6, 1, 0x55, 0, 2)),
                ("a write", struct.pack(">HHHBBHH", 6, 0, 6, 1, 6, 0, 2)),
                ("too many registers", struct.pack(">HHHBBHH", 6, 0, 6, 1, 4, 0, 0xffff))]
        for name, bad in rows:
            with self.subTest(name), socket.create_connection(
                    ("127.0.0.1", self.sim.port), timeout=5) as s:
                s.sendall(bad)
                time.sleep(0.2)
                s.sendall(good)
                time.sleep(0.2)
                answer = s.recv(512)
                self.assertIn(want, answer)
                self.assertEqual(13, len(answer) - answer.index(want))

    def test_peers_that_vanish_leave_it_running(self):
        self.sim.say("misbehave 1:late:150")
        for _ in range(20):
            s = socket.create_connection(("127.0.0.1", self.sim.port), timeout=5)
            s.sendall(struct.pack(">HHHBBHH", 7, 0, 6, 1, 4, 0, 2) * 5)
            s.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
            s.close()
        nonsense = socket.create_connection(("127.0.0.1", self.sim.port), timeout=5)
        nonsense.sendall(b"GET / HTTP/1.1\r\n\r\n")
        self.assertEqual(b"", nonsense.recv(64))
        nonsense.close()
        self.sim.say("behave")
        self.assertEqual("", self.sim.poll("tcp", 1, "input", 0, 2)[1])

    def test_no_value_is_the_code_that_says_so(self):
        for unit in (1, 4):
            self.sim.say(f"misbehave {unit}:nan")
        self.assertEqual(([-32768.0, -1.0], ""), self.sim.poll("tcp", 1, "input", 0, 2))
        got, errors = self.sim.poll("tcp", 4, "input", 0, 1, "float32")
        self.assertEqual("", errors)
        self.assertEqual(["nan"], [str(v) for v in got])

    def test_a_solvent_lifts_the_humidity_alone(self):
        before = {r[6]: r[7] for r in self.sim.print() if r[1] == 1}
        self.sim.say("misbehave 1:solvent:15")
        after = {r[6]: r[7] for r in self.sim.print() if r[1] == 1}
        self.assertAlmostEqual(before["humidity"] + 15, after["humidity"], places=3)
        self.assertEqual(before["temperature"], after["temperature"])


class TimeGoesOn(unittest.TestCase):
    def test_stuck_drifting_and_over(self):
        # An hour a second: 11 hangs in a calm store, 14 is outdoors.
        sim = Simulator("--misbehave", "14:stuck@0", "--misbehave", "12:drifting:24@0",
                        "--misbehave", "13:silent@0+1800", factor="3600")
        first = {(r[1], r[6]): r[7] for r in sim.print()}
        self.assertIn("timed out", sim.poll("rtu", 13, "input", 0, 1, timeout="0.1")[1])
        time.sleep(2.5)
        last = {(r[1], r[6]): r[7] for r in sim.print()}
        self.assertEqual(first[14, "temperature"], last[14, "temperature"])
        self.assertEqual(first[14, "humidity"], last[14, "humidity"])
        rise = last[12, "temperature"] - first[12, "temperature"]
        self.assertTrue(1.5 < rise < 8.0, rise)  # 1 K an hour
        self.assertEqual("", sim.poll("rtu", 13, "input", 0, 1)[1])
        self.assertEqual((0, ""), sim.close())

    def test_the_live_world_is_the_one_that_was_begun_earlier(self):
        whole = ["--seed", "7", "--world-from", "2026-05-01T00:00:00Z"]
        a = subprocess.run([SIM, "--print", *whole, "--start", START], capture_output=True,
                           text=True, check=True)
        b = subprocess.run([SIM, "--print", *whole, "--start", START], capture_output=True,
                           text=True, check=True)
        c = subprocess.run([SIM, "--print", *whole, "--start", "2026-08-14T13:00:00Z"],
                           capture_output=True, text=True, check=True)
        self.assertEqual(a.stdout, b.stdout)
        self.assertNotEqual(a.stdout, c.stdout)


class Mistakes(unittest.TestCase):
    def test_each_has_its_line_and_its_exit_status(self):
        with socket.socket() as taken, tempfile.NamedTemporaryFile() as file:
            taken.bind(("127.0.0.1", 0))
            taken.listen()
            port = taken.getsockname()[1]
            rows = [([], 2, "--help"),
                    (["--tcp"], 2, "--help"),
                    (["--tcp", "127.0.0.1:0", "--factor", "fast"], 2, "--factor fast"),
                    (["--tcp", "127.0.0.1:0", "--start", "yesterday"], 2, "--start yesterday"),
                    (["--tcp", "nowhere"], 3, "127.0.0.1:1502"),
                    (["--tcp", "127.0.0.1:0", "--misbehave", "1:sulk"], 3, "garbled"),
                    (["--tcp", "127.0.0.1:0", "--misbehave", "77:late"], 3, "no unit 77"),
                    (["--rtu", file.name], 3, "no link"),
                    (["--rtu", "/nonexistent/line"], 4, "/nonexistent/line"),
                    (["--tcp", f"127.0.0.1:{port}"], 4, "in use")]
            for options, status, words in rows:
                with self.subTest(options=options):
                    done = subprocess.run([SIM, *options], capture_output=True, text=True,
                                          stdin=subprocess.DEVNULL, timeout=20)
                    self.assertEqual(status, done.returncode)
                    self.assertIn(words, done.stderr)
            self.assertTrue(os.path.exists(file.name))

    def test_the_link_goes_when_the_simulator_ends(self):
        sim = Simulator()
        self.assertTrue(os.path.islink(sim.tty))
        sim.say("quit")
        sim.process.wait(timeout=10)
        self.assertFalse(os.path.lexists(sim.tty))
        self.assertEqual((0, ""), sim.close())


if __name__ == "__main__":
    unittest.main()
