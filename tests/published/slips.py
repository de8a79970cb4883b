"""Puts a slip into the last digit of every number of the library, one at a time, and says which
test sees it.  Not run with the tests: it takes a quarter of an hour.

    /usr/bin/python3 tests/published/slips.py [FILE ...]

FILE narrows it to some files of lib/ or include/stillroom/, e.g. spec.c.  Exit status 1 if a
slip went unseen.
"""
import os
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = os.path.abspath(os.path.join(os.path.dirname(__file__), "..", ".."))
NUMBER = re.compile(r"(?<![\w.])(\d+\.\d*|\d*\.\d+|\d+(?=[eE]))(?:[eE][-+]?\d+)?(?![\w.])")
CODE = re.compile(r'/\*.*?\*/|"(?:\\.|[^"\\])*"', re.S)  # comments and texts hold no numbers
CFLAGS = ["-std=c11", "-D_POSIX_C_SOURCE=200809L", "-O1", "-ffp-contract=off"]

# A number straight after a comparison bounds what is refused; the unit tests look at many of
# these, but the last digit of a bound is no coefficient: unseen ones are counted, not blamed.
BOUND = re.compile(r"[<>]=?\s*-?$")

# Numbers that are no coefficient either: how a solver steps or stops, and what changes no answer.
NO_COEFFICIENT = [
    ("drying.c", r"absolute_humidity\(t_c, 100\.0"),  # above 100 % is taken as 100
    ("plan.c", r"#define (NOTHING_PCT|SLACK)|more_d = |parts\)|patience_s\)"),  # fineness of a search
    ("canvas.c", r"return rh_pct < 0\.0 \? 0\.0"),  # an impossible reading taken as 0 or 100
    (".c", r"^\s*double \w+ = 0\.0;$"),  # where a sum begins
    ("percentile.c", r"."),  # where a pivot is sought: the answer is exact whatever it is
]


def slipped(number):
    """The number with its last digit of the mantissa one greater, or one less for a 9."""
    mantissa = re.match(r"[\d.]+", number).group()
    at = max(i for i, c in enumerate(mantissa) if c.isdigit())
    digit = int(mantissa[at])
    return mantissa[:at] + str(digit + 1 if digit < 9 else 8) + mantissa[at + 1:] \
        + number[len(mantissa):]


def numbers_of(text):
    blank = CODE.sub(lambda m: re.sub(r"[^\n]", " ", m.group()), text)
    return [(m.start(), m.group()) for m in NUMBER.finditer(blank)]


class Tree:
    """A copy of the library and its tests, compiled piece by piece."""

    def __init__(self, work):
        self.work = work
        for part in ("include", "lib", "tests/support", "tests/published", "tests/unit"):
            shutil.copytree(os.path.join(ROOT, part), os.path.join(work, part))
        self.lib = sorted("lib/" + f for f in os.listdir(work + "/lib") if f.endswith(".c"))
        self.tests = [f"tests/{d}/{f}" for d in ("published", "unit")
                      for f in sorted(os.listdir(f"{work}/tests/{d}"))
                      if re.match(r"test_.*\.c$" if d == "published" else r"test_lib_.*\.c$", f)]
        self.peers = ["tests/support/peer_rows.c", "tests/support/peer_series.c"]
        self.scripts = ["tests/published/test_recomputed.py",
                        "tests/published/test_peers_series.py",
                        "tests/published/test_peers_scipy.py",
                        "tests/published/test_peers_iapws.py"]
        os.makedirs(work + "/build/tests")
        self.needs = {}
        for source in self.lib + self.tests + self.peers:
            self.compile(source)

    def compile(self, source):
        target = self.object(source)
        made = subprocess.run(["gcc", *CFLAGS, "-MMD", "-MF", target + ".d", "-Iinclude", "-Ilib",
                               "-Itests", "-c", source, "-o", target],
                              cwd=self.work, capture_output=True, text=True)
        if made.returncode == 0:
            with open(f"{self.work}/{target}.d", encoding="utf-8") as deps:
                self.needs[source] = set(deps.read().replace("\\\n", " ").split()[1:])
        return made.returncode == 0

    @staticmethod
    def object(source):
        return "build/" + source.replace("/", "_") + ".o"

    def link(self, source):
        target = "build/tests/" + os.path.basename(source)[:-2]
        subprocess.run(["gcc", self.object(source), *map(self.object, self.lib), "-lcmocka",
                        "-lm", "-o", target], cwd=self.work, check=True)
        return target

    def passes(self, command):
        try:
            return subprocess.run(command, cwd=self.work, capture_output=True,
                                  timeout=120).returncode == 0
        except subprocess.TimeoutExpired:
            return False

    def caught_by(self, changed, bound):
        """The first test that fails, those that share the file's name first; or None."""
        dirty = [s for s, needs in self.needs.items() if changed in needs]
        for source in dirty:
            if not self.compile(source):
                return "the compiler", dirty
        stem = re.split(r"[_.]", os.path.basename(changed))[0]
        for test in sorted(self.tests, key=lambda t: (stem not in t, "unit" in t)):
            if not self.passes([self.link(test)]):
                return test, dirty
        if bound:
            return None, dirty
        for peer in self.peers:
            self.link(peer)
        for script in self.scripts:
            if not self.passes(["/usr/bin/python3", script, self.work + "/build"]):
                return script, dirty
        return None, dirty


def exempt(path, line):
    return any(path.endswith(file) and re.search(pattern, line)
               for file, pattern in NO_COEFFICIENT)


def main():
    wanted = sys.argv[1:]
    unseen = tried = skipped = bounds = 0
    with tempfile.TemporaryDirectory() as work:
        tree = Tree(work)
        test, _ = tree.caught_by("nothing", False)
        if test is not None:
            sys.exit(f"{test} fails without any slip: nothing can be said")
        files = tree.lib + sorted("include/stillroom/" + f
                                  for f in os.listdir(work + "/include/stillroom"))
        files += sorted("lib/" + f for f in os.listdir(work + "/lib") if f.endswith(".h"))
        for path in files:
            if wanted and os.path.basename(path) not in wanted:
                continue
            with open(f"{work}/{path}", encoding="utf-8") as f:
                text = f.read()
            for at, number in numbers_of(text):
                line = text.count("\n", 0, at) + 1
                if exempt(path, text.splitlines()[line - 1]):
                    skipped += 1
                    continue
                with open(f"{work}/{path}", "w", encoding="utf-8") as f:
                    f.write(text[:at] + slipped(number) + text[at + len(number):])
                bound = BOUND.search(text[:at]) is not None
                test, dirty = tree.caught_by(path, bound)
                with open(f"{work}/{path}", "w", encoding="utf-8") as f:
                    f.write(text)
                for source in dirty:
                    tree.compile(source)
                tried += 1
                unseen += test is None and not bound
                bounds += test is None and bound
                what = test or ("a bound, unseen" if bound else
                                "UNSEEN: " + text.splitlines()[line - 1].strip())
                print(f"{path}:{line}: {number} as {slipped(number)}: {what}", flush=True)
    print(f"{tried} slips tried, {unseen} unseen; {bounds} bounds unseen, {skipped} numbers that "
          "are no coefficient")
    return 1 if unseen else 0


if __name__ == "__main__":
    sys.exit(main())
