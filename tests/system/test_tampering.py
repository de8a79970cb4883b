"""A hundred random tamperings with bundles and with databases, by somebody who does not have the key
and whose victim knows its fingerprint and one head: each is found and named by `stillroom verify`,
and by the commands of VERIFY.txt where they can.

    test_tampering.py BUILD [SEED]
"""

import json
import os
import random
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import unittest

BUILD = sys.argv.pop(1)
SEED = int(sys.argv.pop(1)) if len(sys.argv) > 1 else random.SystemRandom().randrange(10 ** 6)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))

import byhand  # noqa: E402
import evidence_studio  # noqa: E402
import tamper  # noqa: E402

TOOL = os.path.join(BUILD, "bin", "stillroom")
BEGIN, END = "2025-12-31", "2026-01-06"


class Tamperings(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        print(f"seed {SEED}", file=sys.stderr)
        cls.studio = evidence_studio.record(BUILD)
        cls.place = tempfile.mkdtemp(prefix="stillroom-test-")
        cls.stranger = byhand.Stranger(cls.place)
        cls.forger = tamper.Forger(cls.place)
        cls.folder = os.path.join(cls.place, "bundle")
        for out in (cls.folder, cls.folder + ".tar"):
            done = cls.studio.tool("bundle", "--from", BEGIN, "--to", END, "--out", out)
            assert done.returncode == 0, done.stderr
        facts = json.loads(tamper.read(os.path.join(cls.folder, "bundle.json")))
        cls.keys, cls.head = facts["keys"], facts["head"]["digest"]
        cls.words = tamper.read(os.path.join(cls.folder, "VERIFY.txt")).decode()
        cls.known = ("--key-id", cls.keys[0], "--head", cls.head)

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.place)
        cls.studio.close()

    def copy(self):
        path = os.path.join(self.place, "tampered")
        shutil.rmtree(path, ignore_errors=True)
        shutil.copytree(self.folder, path)
        return path

    def by_hand(self, folder):
        return byhand.follow(self.stranger, folder, self.words, self.keys, self.head)

    def assert_named(self, done, did, day, file):
        """Found, and a line names the day and the file."""
        said = f"{did}\n{done.stdout}{done.stderr}"
        self.assertEqual(done.returncode, 1, said)
        lines = [line for line in done.stdout.splitlines() if not line.startswith("NOT as signed")]
        self.assertTrue(lines, said)
        self.assertTrue([line for line in lines
                         if day in line and (file in line or file.replace(" ", "/") in line)], said)
        self.assertNotIn("All as signed", done.stdout)

    def tamper_with_bundle(self, rng, do, *more):
        folder = self.copy()
        did, day, file = do(rng, folder, *more)
        if do not in tamper.BUNDLE_CARELESS:
            tamper.careful(folder)
        done = subprocess.run([TOOL, "verify", folder, *self.known], capture_output=True, text=True,
                              timeout=60)
        self.assert_named(done, did, day, file)
        # What no signature vouches for, nobody can check by hand.
        if file not in ("VERIFY.txt", "bundle.json"):
            self.assertTrue(self.by_hand(folder), did)

    def test_nothing_is_wrong_with_what_nobody_touched(self):
        self.assertEqual(self.by_hand(self.folder), [])
        for path in (self.folder, self.folder + ".tar"):
            done = subprocess.run([TOOL, "verify", path, *self.known], capture_output=True,
                                  text=True, timeout=60)
            self.assertEqual((done.returncode, done.stderr), (0, ""), done.stdout)
        done = self.studio.tool("verify", "--store", *self.known)
        self.assertEqual((done.returncode, done.stderr), (0, ""), done.stdout)
        tamper.careful(self.copy())
        self.assertEqual(self.by_hand(os.path.join(self.place, "tampered")), [])

    def test_each_of_fifty_tamperings_with_a_bundle_is_found_and_named(self):
        rng = random.Random(SEED)
        kinds = [do for do in tamper.BUNDLE + tamper.BUNDLE_CARELESS]
        for i in range(44):
            do = kinds[i] if i < len(kinds) else rng.choice(kinds)
            with self.subTest(i=i, do=do.__name__):
                self.tamper_with_bundle(rng, do)
        for i in range(6):
            do = tamper.BUNDLE_FORGED[i % len(tamper.BUNDLE_FORGED)]
            with self.subTest(i=44 + i, do=do.__name__):
                self.tamper_with_bundle(rng, do, self.forger)

    def test_each_of_twenty_tamperings_with_a_tar_is_found(self):
        rng = random.Random(SEED + 1)
        whole = tamper.read(self.folder + ".tar")
        path = os.path.join(self.place, "tampered.tar")
        for i in range(20):
            if i < 17:
                data, at = tamper.flip(rng, whole)
            else:
                at = rng.randrange(1024, len(whole))
                data = whole[:at]
            tamper.write(path, data)
            done = subprocess.run([TOOL, "verify", path, *self.known], capture_output=True,
                                  text=True, timeout=60)
            with self.subTest(i=i, at=at):
                self.assertEqual(done.returncode, 1, done.stdout + done.stderr)
                self.assertRegex(done.stdout, r"^(form|file|missing|extra|chain|key|signature)[^:]*: .+")

    def store_copy(self):
        path = os.path.join(self.place, "store")
        shutil.rmtree(path, ignore_errors=True)
        os.mkdir(path)
        for name in os.listdir(self.studio.folder):
            if not name.endswith((".lock", ".sock")):
                shutil.copy(os.path.join(self.studio.folder, name), path)
        site = os.path.join(path, "site.ini")
        text = tamper.read(site).decode().replace(self.studio.folder, path)
        tamper.write(site, text.encode())
        return path, site

    def tool(self, site, *arguments):
        return subprocess.run([TOOL, "--site", site, *arguments], capture_output=True, text=True,
                              timeout=60)

    def tamper_with_store(self, rng, do, *more):
        path, site = self.store_copy()
        db = sqlite3.connect(os.path.join(path, "stillroom.db"))
        did, day, file = do(rng, db, *more)
        db.commit()
        db.close()
        if do is tamper.store_last_day_left_out:
            os.remove(os.path.join(path, "stillroom.db.head"))
        done = self.tool(site, "verify", "--store", *self.known)
        self.assert_named(done, did, day, file)
        if do not in tamper.STORE_SIGNED:
            return
        # And a bundle of it shows it too: to whoever makes it, and to whoever is given it.
        out = os.path.join(path, "bundle")
        done = self.tool(site, "bundle", "--from", BEGIN, "--to", END, "--out", out)
        if done.returncode != 1: # it writes what the tables say, and does not judge the chain
            self.assertEqual(do, tamper.store_swapped_days, did + done.stderr)
        self.assertTrue(self.by_hand(out), did)

    def test_each_of_fifty_tamperings_with_a_store_is_found_and_named(self):
        rng = random.Random(SEED + 2)
        kinds = tamper.STORE_SIGNED + tamper.STORE_ROWS
        for i in range(48):
            do = kinds[i] if i < len(kinds) else rng.choice(kinds)
            with self.subTest(i=i, do=do.__name__):
                self.tamper_with_store(rng, do)
        for i in range(2):
            with self.subTest(i=48 + i, do="store_forged"):
                self.tamper_with_store(rng, tamper.store_forged, self.forger)


if __name__ == "__main__":
    unittest.main()
