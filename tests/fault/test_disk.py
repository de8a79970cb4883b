"""A disk that is full, locked, read-only or damaged; a store, a port or a site file that cannot be
taken: a clear line each, nothing touched that is not ours, and no served reading lost.

Full and read-only disks are small file systems in a mount namespace of this test's own; where
the system allows none, those tests are skipped.
"""
import hashlib
import os
import random
import signal
import socket
import sqlite3
import subprocess
import sys
import tempfile
import time
import unittest

BUILD = sys.argv.pop(1)
HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, os.pardir))
from support.daemon import Studio, days_ini, wait_until  # noqa: E402
from support.device import Device  # noqa: E402

SEED = int(os.environ.get("SEED", str(time.time_ns() % 1000000)))
APART = "STILLROOM_TEST_APART"  # set once we live in our own mount namespace


def wiring(device, every="1 s", zone="room"):
    return (device.site_bus("line") + f"[instrument one]\nbus = line\nunit = 1\nserial = 1\n"
            f"every = {every}\nzone = {zone}\nread = temperature input 0 int16 x0.01\n"
            f"[zone {zone}]\ntitle = Room\npurpose = store\n")


def digest(path):
    with open(path, "rb") as f:
        return hashlib.sha256(f.read()).hexdigest()


def errors(words):
    return [line for line in words.splitlines() if line.startswith("error: ")]


class WithDaemon(unittest.TestCase):
    def setUp(self):
        self.device = Device()
        self.opened = []

    def tearDown(self):
        for studio in self.opened:
            studio.close()
        self.device.close()

    def studio(self, body=None, **more):
        studio = Studio(BUILD, body or wiring(self.device), **more)
        self.opened.append(studio)
        return studio

    def assert_all_landed(self, studio):
        """Every number that the device gave stands in the tail, once and in order."""
        served = [number for _, number in self.device.served()]
        self.assertEqual(served, [value for _, value, _ in studio.tail("temperature")])
        self.assertGreater(len(served), 5)

    def assert_refused(self, studio, *words):
        status, said = studio.refused()
        self.assertEqual(4, status, said)
        self.assertEqual(1, len(errors(said)), said)
        for word in words:
            self.assertIn(word, errors(said)[0])


@unittest.skipUnless(os.environ.get(APART), "no mount namespace")
class SmallDisks(WithDaemon):
    def setUp(self):
        super().setUp()
        self.mount = tempfile.mkdtemp(prefix="stillroom-disk-")
        self.mount_with("size=4m")

    def tearDown(self):
        super().tearDown()
        subprocess.run(["umount", "-l", self.mount], check=True)
        os.rmdir(self.mount)

    def mount_with(self, options):
        subprocess.run(["mount", "-t", "tmpfs", "-o", options, "none", self.mount], check=True)

    def on_disk(self):
        """A studio whose store alone lies on the small disk."""
        studio = self.studio()
        place = os.path.join(self.mount, "stillroom.db")
        studio.head = studio.head.replace(studio.db, place)
        studio.db = place
        studio.write_site(wiring(self.device))
        return studio

    def fill(self):
        path = os.path.join(self.mount, "ballast")
        fd = os.open(path, os.O_WRONLY | os.O_CREAT)
        for size in (65536, 4096, 1):
            try:
                while True:
                    os.write(fd, b"x" * size)
            except OSError:
                pass
        os.close(fd)
        return path

    def test_a_disk_that_fills_holds_readings_until_there_is_room(self):
        studio = self.on_disk()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        seen = studio.tail("temperature")
        ballast = self.fill()
        refused = wait_until(lambda: "cannot record: " in studio.words(), 60)
        self.assertTrue(refused, studio.words())
        self.assertIn("make room on the disk", studio.words())
        self.assertEqual("cannot_write", studio.get("/api/v1/studio")["recording"]["state"])
        self.assertEqual(seen, studio.tail("temperature")[:len(seen)])
        self.assertTrue(studio.get("/api/v1/zones/room/series", quantity="temperature")["t"])
        time.sleep(8)
        os.remove(ballast)
        self.assertTrue(wait_until(lambda: "recording again" in studio.words(), 30))
        self.assertEqual(0, studio.stop())
        self.assert_all_landed(studio)
        self.assertEqual([("ok",)], studio.sql("PRAGMA integrity_check"))
        self.assertEqual([("0",)], studio.sql("SELECT count(*) FROM gap WHERE reason = 10"))

    def test_a_stop_on_a_full_disk_ends_and_says_what_is_lost(self):
        studio = self.on_disk()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        self.fill()
        time.sleep(2)
        studio.stop()
        self.assertIn("could not be written", studio.words())
        self.assertEqual([("ok",)], studio.sql("PRAGMA integrity_check"))

    def test_a_start_on_a_full_disk_is_refused(self):
        self.fill()
        self.assert_refused(self.on_disk())

    def test_a_start_on_a_read_only_disk_is_refused(self):
        subprocess.run(["mount", "-o", "remount,ro", self.mount], check=True)
        self.assert_refused(self.on_disk(), "cannot write in the store's folder")

    def test_a_disk_turned_read_only_refuses_a_store_that_is_there(self):
        studio = self.on_disk()
        studio.start()
        self.assertEqual(0, studio.stop())
        before = digest(studio.db)
        subprocess.run(["mount", "-o", "remount,ro", self.mount], check=True)
        self.assert_refused(studio, "cannot write in the store's folder")
        self.assertEqual(before, digest(studio.db))


class Held(WithDaemon):
    def lock(self, studio):
        other = sqlite3.connect(studio.db, isolation_level=None)
        other.execute("BEGIN EXCLUSIVE")
        return other

    def test_a_database_locked_by_another_loses_nothing(self):
        studio = self.studio()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        other = self.lock(studio)
        time.sleep(20)
        self.assertIn("cannot record: ", studio.words())
        self.assertTrue(studio.get("/api/v1/zones")["zones"])
        other.execute("ROLLBACK")
        other.close()
        self.assertTrue(wait_until(lambda: "recording again" in studio.words(), 30))
        self.assertEqual(0, studio.stop())
        self.assert_all_landed(studio)
        self.assertEqual([("0",)], studio.sql("SELECT count(*) FROM gap WHERE reason = 10"))

    def test_a_second_daemon_on_the_store_is_refused_and_the_first_goes_on(self):
        first = self.studio()
        first.start()
        second = self.studio()
        second.head = second.head.replace(second.db, first.db)
        second.write_site(wiring(self.device))
        self.assert_refused(second, "another process is recording into", first.db)
        self.assertIsNotNone(first.health())
        self.assertEqual(0, first.stop())

    def test_a_port_in_use_is_refused(self):
        studio = self.studio()
        with socket.socket() as other:
            other.bind(("127.0.0.1", studio.port))
            other.listen()
            self.assert_refused(studio, str(studio.port), "use")
        studio.start()
        self.assertEqual(0, studio.stop())

    def test_a_folder_that_is_not_there_is_refused(self):
        studio = self.studio()
        studio.head = studio.head.replace(studio.db, "/proc/stillroom/stillroom.db")
        studio.write_site(wiring(self.device))
        self.assert_refused(studio, "/proc/stillroom")


class NotOurs(WithDaemon):
    """Files that are no store, or one from the future, are left as they are."""

    def assert_untouched(self, studio, *words):
        before = digest(studio.db)
        self.assert_refused(studio, *words)
        self.assertEqual(before, digest(studio.db))
        self.assertFalse(os.path.exists(studio.db + "-wal"))

    def make(self, script):
        studio = self.studio()
        db = sqlite3.connect(studio.db)
        db.executescript(script)
        db.close()
        return studio

    def test_a_newer_database_is_refused_untouched(self):
        studio = self.studio()
        studio.start()
        self.assertEqual(0, studio.stop())
        db = sqlite3.connect(studio.db)
        db.execute("PRAGMA user_version = 1000")
        db.close()
        self.assert_untouched(studio, "newer")

    def test_a_database_of_another_program_is_refused_untouched(self):
        self.assert_untouched(self.make("CREATE TABLE stock(id INTEGER PRIMARY KEY);"
                                        "INSERT INTO stock VALUES(7);"), "not one of Stillroom's")

    def test_one_that_claims_our_version_is_refused_untouched(self):
        self.assert_untouched(self.make("CREATE TABLE stock(id INTEGER PRIMARY KEY);"
                                        "PRAGMA user_version = 1;"), "not one of Stillroom's")

    def test_a_file_that_is_no_database_is_refused_untouched(self):
        studio = self.studio()
        with open(studio.db, "w", encoding="ascii") as f:
            f.write("not a database\n" * 1000)
        self.assert_untouched(studio)


class Damaged(WithDaemon):
    def prepared(self):
        """A store with closed days, and its bytes."""
        studio = self.studio(days_ini())
        midnight = int(time.time()) // 86400 * 86400
        subprocess.run([os.path.join(BUILD, "tests", "helper_days"), studio.site,
                        str(midnight - 86400), "1440"], check=True, capture_output=True,
                       timeout=60)
        with open(studio.db, "rb") as f:
            return studio, f.read()

    def put_back(self, studio, data):
        for end in ("-wal", "-shm"):
            if os.path.exists(studio.db + end):
                os.remove(studio.db + end)
        with open(studio.db, "wb") as f:
            f.write(data)

    def test_a_damaged_header_is_refused(self):
        studio, data = self.prepared()
        for at in (0, 5, 15):
            self.put_back(studio, data[:at] + bytes([data[at] ^ 0xff]) + data[at + 1:])
            self.assert_refused(studio)

    def test_a_damaged_page_never_ends_the_daemon_by_surprise(self):
        studio, data = self.prepared()
        dice, started = random.Random(SEED), 0
        print(f"SEED={SEED}", flush=True)
        for _ in range(12):
            page = dice.randrange(1, len(data) // 4096)
            torn = bytearray(data)
            for _ in range(dice.choice((1, 8, 400))):
                torn[page * 4096 + dice.randrange(4096)] ^= dice.randrange(1, 256)
            self.put_back(studio, bytes(torn))
            before = len(studio.words())
            studio.launch()
            wait_until(lambda s=studio: s.process.poll() is not None or s.health() is not None, 30)
            if studio.process.poll() is None:
                started += 1
                time.sleep(0.5)
                studio.get("/api/v1/zones")
                status = studio.stop()
                self.assertEqual(0, status, studio.words()[before:])
            else:
                self.assertEqual(4, studio.ended(), studio.words()[before:])
                self.assertTrue(errors(studio.words()[before:]))
        print(f"12 damaged pages, {started} starts", flush=True)


MISTAKES = """
[bus line]
kind = modbus-tpc
address = 127.0.0.1:99999
colour = blue
[instrument one]
bus = lime
unit = 300
every = 0 s
read = temprature input 0 int16
read = humidity input 70000 uint16
[zone room]
purpose = dungeon
[limit damp]
zone = room
rule = humidity above lots
priority = frantic
"""


class SiteFile(WithDaemon):
    def test_every_mistake_is_a_line_and_nothing_starts(self):
        studio = self.studio(MISTAKES)
        status, said = studio.refused()
        self.assertEqual(3, status, said)
        lines = [line for line in said.splitlines() if line.startswith(studio.site + ":")]
        self.assertGreaterEqual(len(lines), 10, said)
        numbers = [int(line[len(studio.site) + 1:].split(":")[0]) for line in lines]
        self.assertEqual(sorted(numbers), numbers)
        self.assertEqual([], [n for n in os.listdir(studio.folder) if n.startswith("stillroom.db")])

    def test_a_bad_reload_changes_nothing_and_says_so(self):
        studio = self.studio()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        studio.write_site(MISTAKES)
        studio.process.send_signal(signal.SIGHUP)
        self.assertTrue(wait_until(lambda: "nothing was changed" in studio.words(), 10))
        self.assertIn(studio.site + ":", studio.words())
        time.sleep(5)
        self.assertEqual(["room"], [z["id"] for z in studio.get("/api/v1/zones")["zones"]])
        self.assertEqual(0, studio.stop())
        self.assert_all_landed(studio)
        self.assertEqual([("1",)], studio.sql("SELECT count(*) FROM site_file"))
        self.assertEqual([("0",)], studio.sql("SELECT count(*) FROM gap WHERE reason = 8"))

    def test_a_reload_that_cannot_be_put_in_force_keeps_the_old_file(self):
        studio = self.studio()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        with socket.socket() as other:
            other.bind(("127.0.0.1", 0))
            other.listen()
            head = studio.head
            studio.head = head.replace(f":{studio.port}\n", f":{other.getsockname()[1]}\n")
            studio.write_site(wiring(self.device, zone="attic"))
            studio.process.send_signal(signal.SIGHUP)
            self.assertTrue(wait_until(lambda: "stays in force" in studio.words(), 20))
        self.assertTrue(wait_until(lambda: studio.health() is not None, 20), studio.words())
        self.assertEqual(["room"], [z["id"] for z in studio.get("/api/v1/zones")["zones"]])
        time.sleep(5)
        self.assertEqual(0, studio.stop())
        self.assert_all_landed(studio)

    def test_a_good_reload_takes_effect_and_loses_no_reading(self):
        studio = self.studio()
        studio.start()
        self.assertTrue(wait_until(lambda: studio.tail("temperature"), 20))
        time.sleep(4)  # so that readings wait for their commit when it comes
        studio.write_site(wiring(self.device, zone="attic"))
        studio.process.send_signal(signal.SIGHUP)
        self.assertTrue(wait_until(lambda: "was read again" in studio.words(), 20))
        moved = time.time()
        self.assertTrue(wait_until(lambda: [z["id"] for z in studio.get("/api/v1/zones")["zones"]]
                                   == ["attic"], 20))
        self.assertTrue(wait_until(lambda: studio.tail("temperature")[-1][0] > moved, 20))
        self.assertEqual(0, studio.stop())
        self.assert_all_landed(studio)
        self.assertEqual([("2",)], studio.sql("SELECT count(*) FROM site_file"))
        # The past stays where it was: one placement ends as the other begins.
        places = studio.sql("SELECT name, from_t, to_t FROM placement JOIN zone ON zone.id = zone"
                            " ORDER BY placement.id")
        self.assertEqual(["room", "attic"], [p[0] for p in places])
        self.assertEqual(places[0][2], places[1][1])


def live_apart():
    """Starts again in a mount namespace of our own, if there can be one."""
    probe = ["unshare", "-m", "mount", "-t", "tmpfs", "none", "/mnt"]
    if os.environ.get(APART) or subprocess.run(probe, stderr=subprocess.DEVNULL).returncode:
        return
    os.environ[APART] = "1"
    os.execvp("unshare", ["unshare", "-m", sys.executable, os.path.abspath(__file__), BUILD,
                          *sys.argv[1:]])


if __name__ == "__main__":
    live_apart()
    unittest.main(verbosity=2)
