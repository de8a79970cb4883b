"""base/seal against OpenSSL and sha256sum: digests and signatures of messages of many lengths are
the same to the byte, and each side takes the other's and refuses a changed one."""

import os
import random
import shutil
import subprocess
import sys
import tempfile
import unittest

BUILD = sys.argv.pop(1)
HELPER = os.path.join(BUILD, "tests", "helper_seal")
SEED_HEAD = bytes.fromhex("302e020100300506032b657004220420")  # RFC 8410: a private key follows
# About the block of SHA-256 (64) and that of SHA-512 in Ed25519 (128), and large ones.
LENGTHS = (1, 2, 31, 32, 33, 54, 55, 56, 57, 63, 64, 65, 111, 112, 113, 127, 128, 129, 1023, 65537)


def run(*command):
    return subprocess.run(command, capture_output=True, timeout=60)


@unittest.skipUnless(shutil.which("openssl"), "openssl is not installed")
class Seal(unittest.TestCase):
    def setUp(self):
        self.place = tempfile.mkdtemp(prefix="stillroom-test-")
        self.random = random.Random(8032)
        seed = self.random.randbytes(32)
        self.key = self.write("seed", seed)
        os.chmod(self.key, 0o600)
        self.secret = self.write("secret.der", SEED_HEAD + seed)
        self.public = self.write("key.pem", run(HELPER, "pem", self.key).stdout)

    def tearDown(self):
        shutil.rmtree(self.place)

    def write(self, name, data):
        path = os.path.join(self.place, name)
        with open(path, "wb") as f:
            f.write(data)
        return path

    def openssl_takes(self, message, signature):
        done = run("openssl", "pkeyutl", "-verify", "-pubin", "-inkey", self.public, "-rawin", "-in",
                   message, "-sigfile", self.write("sig", signature))
        return done.returncode == 0

    def we_take(self, message, signature):
        return run(HELPER, "verify", self.key, message, self.write("sig", signature)).returncode == 0

    def test_the_public_key_is_the_same(self):
        with open(self.public, "rb") as f:
            self.assertEqual(run("openssl", "pkey", "-inform", "DER", "-in", self.secret,
                                 "-pubout").stdout, f.read())

    def test_digests_are_those_of_sha256sum(self):
        for length in (0, *LENGTHS):
            path = self.write("message", self.random.randbytes(length))
            want = run("sha256sum", path).stdout.split()[0]
            self.assertEqual(run(HELPER, "digest", path).stdout.strip(), want, length)
            self.assertEqual(len(want), 64)

    def test_signatures_are_those_of_openssl(self):
        for length in LENGTHS:
            path = self.write("message", self.random.randbytes(length))
            want = run("openssl", "pkeyutl", "-sign", "-keyform", "DER", "-inkey", self.secret,
                       "-rawin", "-in", path).stdout
            self.assertEqual(len(want), 64)
            self.assertEqual(run(HELPER, "sign", self.key, path).stdout, want, length)

    def test_both_take_the_same_and_refuse_the_same(self):
        path = self.write("message", self.random.randbytes(200))
        good = run(HELPER, "sign", self.key, path).stdout
        self.assertTrue(self.openssl_takes(path, good) and self.we_take(path, good))
        for _ in range(40):
            at = self.random.randrange(64)
            bad = good[:at] + bytes([good[at] ^ (1 << self.random.randrange(8))]) + good[at + 1:]
            self.assertFalse(self.openssl_takes(path, bad))
            self.assertFalse(self.we_take(path, bad))


if __name__ == "__main__":
    unittest.main()
