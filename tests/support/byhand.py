"""Follows VERIFY.txt of a bundle to the letter, as a stranger would: a POSIX shell that finds the
coreutils and openssl, and nothing else."""
import os
import re
import shutil
import subprocess


class Stranger:
    """A machine with coreutils and openssl; `place` is a folder of its own."""

    def __init__(self, place):
        self.path = os.path.join(place, "bin")
        os.makedirs(self.path)
        files = subprocess.run(["dpkg-query", "-L", "coreutils"], capture_output=True, text=True,
                               check=True).stdout.split()
        programs = [f for f in files if re.fullmatch(r"(/usr)?/bin/[a-z0-9]+", f)]
        assert len(programs) > 50, programs
        for program in programs + [shutil.which("openssl")]:
            os.symlink(program, os.path.join(self.path, os.path.basename(program)))

    def run(self, script, folder):
        """(exit status, all that it said)"""
        done = subprocess.run(["/bin/sh", "-c", script], cwd=folder, stdin=subprocess.DEVNULL,
                              stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=120,
                              env={"PATH": self.path, "HOME": "/nonexistent", "LC_ALL": "C.UTF-8"})
        return done.returncode, done.stdout.decode("utf-8", "replace")


def steps(verify_txt):
    """{number: [script, ...]}: what is set in by four spaces below each numbered heading."""
    found, number, block = {}, None, []
    for line in verify_txt.splitlines() + ["end"]:
        if line.startswith("    ") and number is not None:
            block.append(line)
            continue
        if block:
            found[number].append("\n".join(block))
            block = []
        heading = re.match(r"(\d+)\. ", line)
        if heading:
            number = int(heading.group(1))
            found[number] = []
        elif re.match(r"[A-Z][A-Z ,]+$", line):
            number = None
    return found


def says_nothing(status, said):
    return said == ""


def span(verify_txt):
    """The days that it says are there: "2025-12-31 to 2026-01-06"."""
    return re.search(r"^  days (.*)$", verify_txt, re.M).group(1)


def follow(stranger, folder, verify_txt, keys, head, stamped=False):
    """What a reader of VERIFY.txt who was given fingerprints and head sees to be wrong."""
    scripts, asked = steps(verify_txt), span(verify_txt)
    days = [d for d in sorted(os.listdir(folder)) if re.fullmatch(r"\d{4}-\d\d-\d\d", d)]
    expect = {
        1: lambda status, said: status == 0 and said == "",
        2: lambda status, said: sorted(re.findall(r"\b[0-9a-f]{64}\b", said)) == sorted(keys)
        and "rror" not in said,
        3: lambda status, said: [re.match(r"(\S+) Signature Verified Successfully$", line)
                                 is not None for line in said.splitlines()] == [True] * len(days),
        4: says_nothing,
        5: says_nothing,
        6: says_nothing,
        7: lambda status, said: said == f"days {asked}\nhead {head}\n",
        8: says_nothing,
        9: lambda status, said: head in said,
        10: lambda status, said: "Verification: OK" in said or "Time stamp:" in said,
    }
    wrong = []
    for number, blocks in scripts.items():
        for script in blocks:
            if number == 10 and not stamped:
                continue
            status, said = stranger.run(script, folder)
            if not expect[number](status, said):
                wrong.append((number, said))
    return wrong
