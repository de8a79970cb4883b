"""`stillroom bundle` and `stillroom verify`, and VERIFY.txt followed to the letter by somebody who
has coreutils and OpenSSL and nothing of Stillroom."""

import json
import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import unittest

BUILD = sys.argv.pop(1)
sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "support"))

import byhand  # noqa: E402
import evidence_studio  # noqa: E402
import tamper  # noqa: E402

TOOL = os.path.join(BUILD, "bin", "stillroom")


def verify(*arguments):
    """The tool without a site file."""
    return subprocess.run([TOOL, "verify", *arguments], capture_output=True, text=True, timeout=60)


class Bundles(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.studio = evidence_studio.record(BUILD)
        cls.place = tempfile.mkdtemp(prefix="stillroom-test-")
        cls.stranger = byhand.Stranger(cls.place)

    @classmethod
    def tearDownClass(cls):
        shutil.rmtree(cls.place)
        cls.studio.close()

    def path(self, name):
        return os.path.join(self.place, self.id().rsplit(".", 1)[1] + "-" + name)

    def bundle(self, name, *options, begin="2025-12-31", end="2026-01-06"):
        path = self.path(name)
        done = self.studio.tool("bundle", "--from", begin, "--to", end, "--out", path, *options)
        self.assertEqual(done.returncode, 0, done.stderr)
        self.assertEqual(done.stdout, "")
        return path, done.stderr

    def read(self, *path):
        with open(os.path.join(*path), encoding="utf-8") as f:
            return f.read()

    def known(self, folder):
        """Fingerprints and head, as somebody else would have told them."""
        facts = json.loads(self.read(folder, "bundle.json"))
        return facts["keys"], facts["head"]["digest"]

    def by_hand(self, folder, stamped=False):
        words = self.read(folder, "VERIFY.txt")
        self.assertEqual(list(byhand.steps(words)), list(range(1, 11 if stamped else 10)))
        keys, head = self.known(folder)
        return byhand.follow(self.stranger, folder, words, keys, head, stamped)

    def assert_as_signed(self, path, folder=None):
        keys, head = self.known(folder or path)
        options = [word for key in keys for word in ("--key-id", key)]
        done = verify(path, *options, "--head", head)
        self.assertEqual((done.returncode, done.stderr), (0, ""), done.stdout)
        self.assertEqual(done.stdout.count("\n"), 1)
        self.assertIn("All as signed", done.stdout)
        return done.stdout

    def test_a_stranger_confirms_a_bundle_by_hand_and_the_tool_agrees(self):
        folder, said = self.bundle("whole")
        self.assertEqual(self.by_hand(folder), [])
        line = self.assert_as_signed(folder)
        self.assertIn("7 signed days, 2025-12-31 to 2026-01-06, numbers 1 to 7", line)
        for given in self.known(folder)[0] + [self.known(folder)[1]]:
            self.assertIn(given, said)

    def test_the_stranger_has_nothing_but_coreutils_and_openssl(self):
        for program in ("stillroom", "sqlite3", "python3", "grep", "sed", "awk", "perl"):
            status, _ = self.stranger.run(f"command -v {program}", "/")
            self.assertNotEqual(status, 0, program)

    def test_a_bundle_holds_the_readings_that_were_recorded(self):
        folder, _ = self.bundle("readings")
        rows = self.studio.sql("SELECT channel, t, value, flags FROM reading WHERE found = 'day'"
                               " AND t >= 1767312000 AND t < 1767398400 ORDER BY channel, t")
        want = {}
        for channel, *rest in rows:
            want.setdefault(channel, []).append(",".join(rest) + "\n")
        self.assertEqual(len(want), 4)
        for channel, lines in want.items():
            self.assertEqual(self.read(folder, "2026-01-02", f"channel-{channel}.csv"),
                             "".join(lines))

    def test_the_days_have_what_the_other_tests_need(self):
        folder, _ = self.bundle("kinds")
        names = {name for _, _, files in os.walk(folder) for name in files}
        for name in ("channels.csv", "gaps.csv", "late.csv", "alarms.csv"):
            self.assertIn(name, names)
        self.assertTrue([n for n in names if re.fullmatch(r"site-[0-9a-f]{8}\.ini", n)])

    def test_a_tar_is_the_same_bundle(self):
        folder, _ = self.bundle("folder")
        tar, _ = self.bundle("same.tar")
        self.assert_as_signed(tar, folder)
        out = self.path("unpacked")
        subprocess.run(["tar", "-xf", tar, "-C", self.place], check=True)
        os.rename(tar[:-len(".tar")], out)
        self.assertEqual(subprocess.run(["diff", "-r", folder, out]).returncode, 0)
        self.assertEqual(self.by_hand(out), [])

    def test_a_tar_made_anew_by_other_programs_is_still_one(self):
        folder, _ = self.bundle("folder")
        for name, make in (("gnu.tar", ["tar", "--format=ustar", "-cf"]),
                           ("dot.tar", None), ("python.tar", "python")):
            tar = self.path(name)
            if make == "python":
                with tarfile.open(tar, "w", format=tarfile.USTAR_FORMAT) as t:
                    t.add(folder, arcname="x")
            elif make is None:
                subprocess.run(["tar", "--format=ustar", "-cf", tar, "-C", folder, "."], check=True)
            else:
                subprocess.run([*make, tar, "-C", self.place, os.path.basename(folder)], check=True)
            with self.subTest(name):
                self.assert_as_signed(tar, folder)

    def test_a_bundle_of_one_zone_has_nothing_of_the_others(self):
        folder, _ = self.bundle("crate", "--zone", "crate")
        self.assertEqual(self.by_hand(folder), [])
        self.assertIn("only zone crate", self.assert_as_signed(folder))
        names = {name for _, _, files in os.walk(folder) for name in files}
        self.assertEqual({n for n in names if n.startswith("channel-")},
                         {"channel-3.csv", "channel-4.csv"})
        self.assertFalse({n for n in names if n == "alarms.csv" or n.startswith("site-")})
        self.assertIn("gaps.csv", names)
        self.assertIn("only crate", self.read(folder, "VERIFY.txt"))

    def test_a_bundle_of_one_zone_must_have_all_of_that_zone(self):
        folder, _ = self.bundle("crate", "--zone", "crate")
        os.remove(os.path.join(folder, "2026-01-03", "channel-4.csv"))
        with open(os.path.join(folder, "SHA256SUMS"), encoding="utf-8") as f:
            lines = [line for line in f if "2026-01-03/channel-4.csv" not in line]
        with open(os.path.join(folder, "SHA256SUMS"), "w", encoding="utf-8") as f:
            f.writelines(lines)
        done = verify(folder)
        self.assertEqual(done.returncode, 1)
        self.assertIn("missing 2026-01-03 channel-4.csv", done.stdout)

    def test_days_that_are_not_closed_are_not_in_it_and_it_says_so(self):
        folder, said = self.bundle("open", begin="2025-12-01", end="2026-01-31")
        self.assertIn("after 2026-01-06 up to 2026-01-31", said)
        self.assertIn("no signed day from 2025-12-01", said)
        self.assertIn("Asked for were 2025-12-01 to 2026-01-31", self.read(folder, "VERIFY.txt"))
        self.assertEqual(self.by_hand(folder), [])

    def test_a_part_of_the_chain_is_a_bundle_too(self):
        folder, _ = self.bundle("part", begin="2026-01-02", end="2026-01-02")
        self.assertEqual(self.by_hand(folder), [])
        self.assertIn("1 signed day, 2026-01-02 to 2026-01-02, numbers 3 to 3",
                      self.assert_as_signed(folder))

    def test_without_the_key_given_it_says_what_to_compare(self):
        folder, _ = self.bundle("compare")
        done = verify(folder)
        self.assertEqual(done.returncode, 0)
        self.assertIn(self.known(folder)[0][0][:16], done.stdout)
        self.assertIn("--key-id", done.stderr)

    def test_the_answer_as_json_says_the_same(self):
        folder, _ = self.bundle("json")
        keys, head = self.known(folder)
        answer = json.loads(verify(folder, "--json").stdout)
        self.assertEqual((answer["as_signed"], answer["days"], answer["from"], answer["to"],
                          answer["head"], answer["keys"], answer["key_compared"],
                          answer["findings"]),
                         (True, 7, "2025-12-31", "2026-01-06", head, keys, False, []))
        os.remove(os.path.join(folder, "2026-01-01", "day.sig"))
        done = verify(folder, "--json", "--key-id", keys[0])
        answer = json.loads(done.stdout)
        self.assertEqual((done.returncode, answer["as_signed"], answer["key_compared"]),
                         (1, False, True))
        self.assertIn({"kind": "missing", "day": "2026-01-01", "file": "day.sig",
                       "what": "it is not there"}, answer["findings"])

    def test_what_is_asked_wrongly_is_refused_and_nothing_is_written(self):
        taken = self.path("taken")
        os.mkdir(taken)
        for status, words, options in (
                (3, "exists already", ("--from", "2026-01-01", "--to", "2026-01-02", "--out", taken)),
                (3, "not a date", ("--from", "2026-02-30", "--to", "2026-03-02", "--out", "x")),
                (3, "must not lie after", ("--from", "2026-01-02", "--to", "2026-01-01", "--out",
                                           "x")),
                (3, "none of these days is signed",
                 ("--from", "2030-01-01", "--to", "2030-01-02", "--out", self.path("none"))),
                (3, "no instrument stood in a zone",
                 ("--from", "2026-01-01", "--to", "2026-01-02", "--zone", "attic", "--out",
                  self.path("attic"))),
                (4, "cannot write", ("--from", "2026-01-01", "--to", "2026-01-02", "--out",
                                     os.path.join(self.path("nowhere"), "x"))),
                (2, "usage", ("--from", "2026-01-01", "--to", "2026-01-02"))):
            before = sorted(os.listdir(self.place))
            done = self.studio.tool("bundle", *options)
            self.assertEqual(done.returncode, status, done.stderr)
            self.assertIn(words, done.stderr)
            self.assertEqual(sorted(os.listdir(self.place)), before)
        self.assertEqual(os.listdir(taken), [])

    def test_verify_refuses_what_is_no_bundle(self):
        plain = self.path("plain")
        with open(plain, "wb") as f:
            f.write(b"x" * 5000)
        self.assertEqual(verify(plain).returncode, 3)
        self.assertEqual(verify(self.path("nothing")).returncode, 3)
        self.assertEqual(verify().returncode, 2)
        self.assertEqual(self.studio.tool("verify", "--store", "x").returncode, 2)
        self.assertEqual(verify(plain, "--key-id", "12").returncode, 3)
        os.mkdir(self.path("empty"))
        done = verify(self.path("empty"))
        self.assertEqual(done.returncode, 1)
        self.assertIn("there is no signed day in it", done.stdout)

    def test_the_whole_store_is_as_signed(self):
        done = self.studio.tool("verify", "--store")
        self.assertEqual(done.returncode, 0, done.stdout + done.stderr)
        self.assertIn("All as signed: 7 signed days, 2025-12-31 to 2026-01-06", done.stdout)


class Changes(unittest.TestCase):
    """What a studio does in the course of its years is no finding."""

    def setUp(self):
        self.place = tempfile.mkdtemp(prefix="stillroom-test-")
        self.studio = evidence_studio.record(BUILD, days=2)

    def tearDown(self):
        shutil.rmtree(self.place)
        self.studio.close()

    def next_days(self, site, days):
        """Goes on at noon of the first day that is open, by another site file."""
        self.studio.write_site(site)
        day = int(self.studio.sql("SELECT value FROM meta WHERE key = 'open_day'")[0][0])
        evidence_studio.run_days(self.studio, day * 86400 + 43200, days * 1440)

    def test_a_store_is_as_signed_however_its_wiring_changed(self):
        site = evidence_studio.two_zones()
        moved = site.replace("serial = 2\nevery = 60 s\nzone = crate",
                             "serial = 2\nevery = 60 s\nzone = room")
        moved = moved.replace("zone = crate\nrule = tank_full", "zone = room\nrule = tank_full")
        more = moved + ("[instrument i3]\nbus = b\nunit = 3\nserial = 3\nevery = 60 s\n"
                        "zone = crate\nread = humidity input 0 uint16 x0.1\n")
        slower = more.replace("serial = 1\nevery = 60 s", "serial = 1\nevery = 600 s")
        replaced = slower.replace("serial = 2\n", "serial = 222\n")
        self.assertEqual(len({site, moved, more, slower, replaced}), 5)
        for body in (moved, more, slower, replaced, site):
            self.next_days(body, 2)
            done = self.studio.tool("verify", "--store")
            self.assertEqual(done.returncode, 0, done.stdout)
        self.assertIn("13 signed days", done.stdout)

    def test_an_instrument_that_was_moved_is_in_the_bundles_of_both_zones(self):
        site = evidence_studio.two_zones()
        moved = site.replace("serial = 2\nevery = 60 s\nzone = crate",
                             "serial = 2\nevery = 60 s\nzone = room")
        moved = moved.replace("zone = crate\nrule = tank_full", "zone = room\nrule = tank_full")
        self.next_days(moved, 2)
        files = {}
        for zone in ("room", "crate"):
            folder = os.path.join(self.place, zone)
            done = self.studio.tool("bundle", "--from", "2026-01-01", "--to", "2026-01-09",
                                    "--zone", zone, "--out", folder)
            self.assertEqual(done.returncode, 0, done.stderr)
            self.assertEqual(verify(folder).returncode, 0)
            files[zone] = {day: sorted(n for n in os.listdir(os.path.join(folder, day))
                                       if n.startswith("channel-") and n != "channels.csv")
                           for day in os.listdir(folder) if day.startswith("2026-")}
        both, first, second = (["channel-1.csv", "channel-2.csv", "channel-3.csv", "channel-4.csv"],
                               ["channel-1.csv", "channel-2.csv"],
                               ["channel-3.csv", "channel-4.csv"])
        self.assertEqual(files["room"], {"2026-01-01": first, "2026-01-02": first,
                                         "2026-01-03": both, "2026-01-04": both})
        self.assertEqual(files["crate"], {"2026-01-01": second, "2026-01-02": second,
                                          "2026-01-03": second, "2026-01-04": []})


class Keys(unittest.TestCase):
    def setUp(self):
        self.place = tempfile.mkdtemp(prefix="stillroom-test-")
        self.studio = evidence_studio.record(BUILD, days=2)

    def tearDown(self):
        shutil.rmtree(self.place)
        self.studio.close()

    def test_a_changed_key_is_named_unless_both_ids_are_given(self):
        os.rename(self.studio.db + ".key", self.studio.db + ".key.old")
        start = evidence_studio.START // 86400 * 86400 + 3 * 86400 + 3600
        evidence_studio.run_days(self.studio, start, 2 * 1440)
        folder = os.path.join(self.place, "bundle")
        done = self.studio.tool("bundle", "--from", "2025-12-31", "--to", "2026-01-05", "--out",
                                folder)
        self.assertEqual(done.returncode, 0, done.stderr)
        with open(os.path.join(folder, "bundle.json"), encoding="utf-8") as f:
            facts = json.load(f)
        keys, head = facts["keys"], facts["head"]["digest"]
        self.assertEqual(len(set(keys)), 2)
        with open(os.path.join(folder, "VERIFY.txt"), encoding="utf-8") as f:
            words = f.read()
        stranger = byhand.Stranger(self.place)
        self.assertEqual(byhand.follow(stranger, folder, words, keys, head), [])
        both = ("--key-id", keys[0][:16], "--key-id", keys[1][:16])
        for how in (lambda *options: verify(folder, *options),
                    lambda *options: self.studio.tool("verify", "--store", *options)):
            done = how(*both)
            self.assertEqual(done.returncode, 0, done.stdout)
            done = how()
            self.assertEqual(done.returncode, 1)
            self.assertRegex(done.stdout, r"key 2026-01-0\d day.txt: the key changes from "
                             + keys[0][:16] + " to " + keys[1][:16])
            done = how("--key-id", keys[0])
            self.assertEqual(done.returncode, 1)
            self.assertIn("none of those given", done.stdout)

    def test_a_database_put_back_from_a_copy_is_a_fork_that_is_named(self):
        copy = os.path.join(self.place, "copy.db")
        self.assertEqual(self.studio.tool("backup", copy).returncode, 0)
        start = evidence_studio.START // 86400 * 86400 + 3 * 86400 + 3600
        evidence_studio.run_days(self.studio, start, 2 * 1440)
        os.replace(copy, self.studio.db)
        for end in ("-wal", "-shm"):
            if os.path.exists(self.studio.db + end):
                os.remove(self.studio.db + end)
        done = self.studio.tool("verify", "--store")
        self.assertEqual(done.returncode, 1)
        self.assertIn("written down beside the store, is not in this chain", done.stdout)
        evidence_studio.run_days(self.studio, start + 3 * 86400, 1440)
        done = self.studio.tool("verify", "--store")
        self.assertEqual(done.returncode, 1)
        self.assertRegex(done.stdout, r"note 2026-01-0\d day.txt: the signed day says: fork: this "
                                      r"studio had signed up to number")


    def test_two_chains_of_the_same_key_cannot_be_spliced(self):
        """Each day is truly signed, and the numbers go on: only the digests of the days before tell."""
        copy = os.path.join(self.place, "copy.db")
        self.assertEqual(self.studio.tool("backup", copy).returncode, 0)
        start = evidence_studio.START // 86400 * 86400 + 3 * 86400 + 3600
        folders = [os.path.join(self.place, name) for name in ("one", "other")]
        for i, folder in enumerate(folders):
            if i == 1:
                os.replace(copy, self.studio.db)
            evidence_studio.run_days(self.studio, start + i * 7200, 3 * 1440)
            done = self.studio.tool("bundle", "--from", "2025-12-31", "--to", "2026-01-05",
                                    "--out", folder)
            self.assertEqual(done.returncode, 0, done.stderr)
        day = "2026-01-03"
        with open(os.path.join(folders[1], day, "day.txt"), encoding="utf-8") as f:
            self.assertIn("note fork", f.read())
        shutil.rmtree(os.path.join(folders[1], day))
        shutil.copytree(os.path.join(folders[0], day), os.path.join(folders[1], day))
        tamper.careful(folders[1])
        done = verify(folders[1])
        self.assertEqual(done.returncode, 1)
        self.assertIn("chain 2026-01-04 day.txt: it does not follow the day.txt of 2026-01-03",
                      done.stdout)
        with open(os.path.join(folders[1], "VERIFY.txt"), encoding="utf-8") as f:
            script = byhand.steps(f.read())[7][0]
        self.assertIn("2026-01-04: it does not follow the day before it\n",
                      byhand.Stranger(self.place).run(script, folders[1])[1])


class Stamps(unittest.TestCase):
    def setUp(self):
        self.place = tempfile.mkdtemp(prefix="stillroom-test-")
        self.studio = evidence_studio.record(BUILD, days=1)

    def tearDown(self):
        shutil.rmtree(self.place)
        self.studio.close()

    def openssl(self, *arguments):
        done = subprocess.run(["openssl", *arguments], cwd=self.place, capture_output=True,
                              text=True, timeout=60)
        self.assertEqual(done.returncode, 0, done.stderr)

    def authority(self, request, answer):
        """An authority of our own, as `openssl ts` makes one."""
        with open(os.path.join(self.place, "ts.cnf"), "w", encoding="utf-8") as f:
            f.write("[req]\ndistinguished_name = dn\nx509_extensions = ext\nprompt = no\n"
                    "[dn]\nCN = An authority for a test\n"
                    "[ext]\nbasicConstraints = CA:false\nkeyUsage = critical,digitalSignature\n"
                    "extendedKeyUsage = critical,timeStamping\n"
                    "[tsa]\ndefault_tsa = one\n"
                    "[one]\nserial = serial\nsigner_cert = authority.pem\ncerts = authority.pem\n"
                    "signer_key = authority.key\nsigner_digest = sha256\ndefault_policy = 1.2.3.4\n"
                    "digests = sha256\naccuracy = secs:1\ness_cert_id_alg = sha256\n")
        with open(os.path.join(self.place, "serial"), "w", encoding="utf-8") as f:
            f.write("01\n")
        self.openssl("req", "-x509", "-newkey", "rsa:2048", "-nodes", "-keyout", "authority.key",
                     "-out", "authority.pem", "-days", "30", "-config", "ts.cnf")
        self.openssl("ts", "-reply", "-config", "ts.cnf", "-section", "one", "-queryfile", request,
                     "-out", answer)

    def test_an_answer_to_the_request_is_checked_as_verify_txt_says(self):
        folder = os.path.join(self.place, "bundle")
        done = self.studio.tool("bundle", "--from", "2025-12-31", "--to", "2026-01-01", "--out",
                                folder, "--stamp-request")
        self.assertEqual(done.returncode, 0, done.stderr)
        self.authority(os.path.join(folder, "head.tsq"), os.path.join(folder, "head.tsr"))
        shutil.copy(os.path.join(self.place, "authority.pem"), folder)
        with open(os.path.join(folder, "VERIFY.txt"), encoding="utf-8") as f:
            words = f.read()
        with open(os.path.join(folder, "bundle.json"), encoding="utf-8") as f:
            facts = json.load(f)
        stranger = byhand.Stranger(self.place)
        self.assertEqual(len(byhand.steps(words)[10]), 2)
        self.assertEqual(byhand.follow(stranger, folder, words, facts["keys"],
                                       facts["head"]["digest"], stamped=True), [])
        os.remove(os.path.join(folder, "authority.pem"))
        self.assertEqual(verify(folder).returncode, 0)

    def test_without_openssl_it_says_so_and_writes_nothing(self):
        folder = os.path.join(self.place, "bundle")
        done = subprocess.run([TOOL, "--site", self.studio.site, "bundle", "--from", "2025-12-31",
                               "--to", "2026-01-01", "--out", folder, "--stamp-request"],
                              capture_output=True, text=True, timeout=60,
                              env={"PATH": "/nonexistent"})
        self.assertNotEqual(done.returncode, 0)
        self.assertIn("openssl", done.stderr)
        self.assertEqual(os.listdir(self.place), [])


if __name__ == "__main__":
    unittest.main()
