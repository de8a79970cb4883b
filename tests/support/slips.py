"""Slips on purpose: changes the last digit of every coefficient of the library, one at a time, and
prints which published test notices.  None may go unnoticed.

    slips.py [--all] BUILD [FILE ...]

BUILD is a build folder; FILE narrows it to some files of lib/ and include/. A coefficient is a number
in the initialiser of a constant, or one with a point or an exponent in a #define, in lib/ and in the
public headers. What is no coefficient of anybody's (ranges of input, numerics) is listed with its
reason in slips.except. --all takes the numbers inside functions too, and the unit tests of the library
to notice them; a bound, which stands right of < or >, may then go unnoticed, and is counted. It takes
three times as long.

Each slip is compiled into one object, linked with the others as they are, and the published tests
that reach it are run, likeliest first, until one fails.  Exit status 1 if a slip went unnoticed.
"""
import os
import re
import shutil
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

HERE = os.path.dirname(os.path.abspath(__file__))
ROOT = os.path.dirname(os.path.dirname(HERE))
CC = os.environ.get("CC", "cc")
FLAGS = ["-std=c11", "-D_POSIX_C_SOURCE=200809L", "-O0", "-w", "-ffp-contract=off"]
TIMEOUT_S = 60
BOUND = re.compile(r"[<>]=?\s*-?$")
NUMBER = re.compile(r"(?<![\w.])(\d+\.\d*(?:[eE][+-]?\d+)?|\d+(?:[eE][+-]?\d+)?)(?![\w.])")


def blank(match):
    return re.sub(r"[^\n]", " ", match.group())


def without_comments(text):
    """Same length and lines, but comments, strings, characters and includes are blanks."""
    text = re.sub(r"/\*.*?\*/", blank, text, flags=re.S)
    text = re.sub(r'"(?:\\.|[^"\\\n])*"', blank, text)
    text = re.sub(r"'(?:\\.|[^'\\\n])*'", blank, text)
    return re.sub(r"(?m)^#include.*$", blank, text)


def initialisers(text):
    """(start, end) of what stands right of = in `static const` anywhere and `const` outside."""
    for found in re.finditer(r"(?m)^[ \t]*static const\b|^const\b", text):
        depth, equals = 0, None
        for i in range(found.end(), len(text)):
            c = text[i]
            if c == "(" and depth == 0 and equals is None:
                break  # a function
            if c in "{(":
                depth += 1
            elif c in "})":
                depth -= 1
            elif c == "=" and depth == 0 and equals is None:
                equals = i
            elif c == ";" and depth == 0:
                if equals is not None:
                    yield equals + 1, i
                break


def coefficients(path, exceptions, everything):
    """(offset, literal, line, bound) of each number to slip in."""
    with open(path, encoding="utf-8") as f:
        text = without_comments(f.read())
        lines = f"{text}\n".splitlines()
    text = re.sub(r"\[[^]\n]*\]", blank, text)  # designators and sizes
    tables = list(initialisers(text))
    defines = [d.span(1) for d in re.finditer(r"(?m)^#define[ \t]+\w+[ \t]+(.+)$", text)]
    for n in NUMBER.finditer(text):
        at, line = n.start(), text.count("\n", 0, n.start()) + 1
        if not any(start <= at < end for start, end in tables):
            if "." not in n.group() and "e" not in n.group().lower():
                continue  # counts, indices and sizes
            if not everything and not any(start <= at < end for start, end in defines):
                continue
        if any(pattern.search(lines[line - 1]) for file, pattern in exceptions
               if file in (os.path.basename(path), "*")):
            continue
        yield at, n.group(), line, BOUND.search(text[:at]) is not None


def slipped(literal):
    """The same number with its last printed digit one off."""
    mantissa, exponent = re.fullmatch(r"([\d.]+)([eE].*)?", literal).groups()
    place = max(i for i, c in enumerate(mantissa) if c.isdigit())
    digit = int(mantissa[place])
    new = str(digit - 1 if digit == 9 else digit + 1)
    return mantissa[:place] + new + mantissa[place + 1:] + (exponent or "")


class Test:
    def __init__(self, source, kind, peer=None):
        self.source, self.kind, self.peer = source, kind, peer
        self.name = os.path.basename(source)
        self.reach = set()  # objects of the library that it links
        self.took_s = 0.0

    def likely(self, stem):
        """Sort key: the file's own test first, then quick ones."""
        words = set(re.split(r"[_.]", self.name)) - {"test", "c", "py"}
        return (not words & set(stem.split("_")), self.took_s)


class Bench:
    """Objects and tests as they are, compiled once."""

    def __init__(self, build, everything):
        self.build = os.path.abspath(build)
        self.work = os.path.join(self.build, "slips")
        shutil.rmtree(self.work, ignore_errors=True)
        os.makedirs(self.work)
        self.sources = sorted(os.path.join(ROOT, "lib", f)
                              for f in os.listdir(os.path.join(ROOT, "lib")) if f.endswith(".c"))
        self.objects = {s: self.path(os.path.basename(s)[:-2] + ".o") for s in self.sources}
        self.tests = []
        folders = {"published": r"test_.*\.(c|py)"}
        if everything:
            folders["unit"] = r"test_lib_.*\.c"
        for name, pattern in folders.items():
            folder = os.path.join(ROOT, "tests", name)
            self.tests += [Test(os.path.join(folder, f), f.rsplit(".", 1)[1])
                           for f in sorted(os.listdir(folder)) if re.fullmatch(pattern, f)]
        self.peers = {f[:-2]: self.path(f[:-2] + ".o")
                      for f in sorted(os.listdir(HERE)) if re.fullmatch(r"peer_.*\.c", f)}

    def path(self, name):
        return os.path.join(self.work, name)

    def compile(self, source, to, tree=ROOT):
        run([CC, *FLAGS, "-I" + os.path.join(tree, "include"), "-I" + os.path.join(tree, "lib"),
             "-I" + os.path.join(ROOT, "tests"), "-c", source, "-o", to])

    def link(self, objects, to):
        run([CC, "-o", to, *objects, "-lcmocka", "-lm"])

    def compile_all(self, pool):
        jobs = [pool.submit(self.compile, s, o) for s, o in self.objects.items()]
        jobs += [pool.submit(self.compile, os.path.join(HERE, p + ".c"), o)
                 for p, o in self.peers.items()]
        jobs += [pool.submit(self.compile, t.source, self.path(t.name + ".o"))
                 for t in self.tests if t.kind == "c"]
        for job in jobs:
            job.result()

    def find_reach(self):
        """Which objects of the library each test needs, by the symbols it asks for."""
        defined, wanted = {}, {}
        for o in self.objects.values():
            for kind, symbol in symbols(o):
                if kind != "U":
                    defined[symbol] = o
            wanted[o] = [s for k, s in symbols(o) if k == "U"]
        for test in self.tests:
            if test.kind == "c":
                roots = [self.path(test.name + ".o")]
            else:
                with open(test.source, encoding="utf-8") as f:
                    text = f.read()
                if "from peers import" in text:
                    text += "peer_rows"
                test.peer = next((p for p in self.peers if p in text), None)
                roots = [self.peers[test.peer]] if test.peer else []
            pending = [s for r in roots for k, s in symbols(r) if k == "U"]
            while pending:
                o = defined.get(pending.pop())
                if o is not None and o not in test.reach:
                    test.reach.add(o)
                    pending += wanted[o]

    def run_test(self, test, replaced, folder):
        """True if it passes with these objects (original -> replacement) in place."""
        objects = [replaced.get(o, o) for o in self.objects.values()]
        os.makedirs(os.path.join(folder, "tests"), exist_ok=True)
        if test.kind == "c":
            own = self.path(test.name + ".o")
            program = os.path.join(folder, "tests", "t")
            self.link([replaced.get(own, own), *objects], program)
            command = [program]
        else:
            own = self.peers[test.peer]
            self.link([replaced.get(own, own), *objects],
                      os.path.join(folder, "tests", test.peer))
            packages = os.path.join(folder, "published-packages")
            if not os.path.lexists(packages):
                os.makedirs(os.path.join(self.build, "published-packages"), exist_ok=True)
                os.symlink(os.path.join(self.build, "published-packages"), packages)
            command = [sys.executable, test.source, folder]
        try:
            return subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL,
                                  stderr=subprocess.DEVNULL, timeout=TIMEOUT_S).returncode == 0
        except subprocess.TimeoutExpired:
            return False

    def check_untouched(self):
        for test in self.tests:
            begin = time.monotonic()
            if test.reach and not self.run_test(test, {}, self.path("untouched")):
                raise SystemExit(f"{test.name} fails without any slip")
            test.took_s = time.monotonic() - begin

    def includers(self, header):
        """Sources (library, tests, peers) whose objects depend on this header."""
        found = {}
        everything = dict(self.objects)
        everything.update({t.source: self.path(t.name + ".o")
                           for t in self.tests if t.kind == "c"})
        everything.update({os.path.join(HERE, p + ".c"): o for p, o in self.peers.items()})
        for source, o in everything.items():
            listed = run([CC, *FLAGS, "-I" + os.path.join(ROOT, "include"), "-I" +
                          os.path.join(ROOT, "lib"), "-I" + os.path.join(ROOT, "tests"), "-MM",
                          source])
            if header in listed.replace("\\\n", " ").split():
                found[source] = o
        return found

    def try_slip(self, path, slip, number):
        """Name of the test that notices, or None."""
        at, literal, _, _ = slip
        folder = self.path(f"slip-{number}")
        os.makedirs(folder, exist_ok=True)
        with open(path, encoding="utf-8") as f:
            text = f.read()
        assert text[at:at + len(literal)] == literal
        changed = text[:at] + slipped(literal) + text[at + len(literal):]
        replaced = {}
        try:
            if path.endswith(".c"):
                source = os.path.join(folder, os.path.basename(path))
                with open(source, "w", encoding="utf-8") as f:
                    f.write(changed)
                self.compile(source, source + ".o")
                replaced[self.objects[path]] = source + ".o"
            else:
                tree = os.path.join(folder, "tree")
                for part in ("include", "lib"):
                    shutil.copytree(os.path.join(ROOT, part), os.path.join(tree, part))
                with open(os.path.join(tree, os.path.relpath(path, ROOT)), "w",
                          encoding="utf-8") as f:
                    f.write(changed)
                for source, o in self.includers(path).items():
                    new = os.path.join(folder, os.path.basename(o))
                    own = os.path.join(tree, os.path.relpath(source, ROOT))
                    self.compile(own if os.path.exists(own) else source, new, tree)
                    replaced[o] = new
            touched = set(replaced)
            stem = os.path.basename(path).rsplit(".", 1)[0]
            for test in sorted(self.tests, key=lambda t: t.likely(stem)):
                own = self.path(test.name + ".o") if test.kind == "c" else \
                    self.peers.get(test.peer)
                if (test.reach | {own}) & touched and not self.run_test(test, replaced, folder):
                    return test.name
        except subprocess.CalledProcessError:
            return "the compiler"
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        return None


def run(command):
    return subprocess.run(command, check=True, capture_output=True, text=True).stdout


def symbols(object_file):
    for line in run(["nm", object_file]).splitlines():
        words = line.split()
        if len(words) >= 2 and words[-2] in "UTDRB":
            yield words[-2], words[-1]


def read_exceptions():
    """(file or *, pattern of a line) from lines `FILE /PATTERN/ reason`; a reason is a must."""
    found = []
    with open(os.path.join(HERE, "slips.except"), encoding="utf-8") as f:
        for line in f:
            if line.strip() and not line.startswith("#"):
                file, pattern, _ = re.fullmatch(r"(\S+)\s+/(.+)/\s+(\S.*)\n", line).groups()
                found.append((file, re.compile(pattern)))
    return found


def main():
    words = [w for w in sys.argv[1:] if w != "--all"]
    everything = len(words) < len(sys.argv) - 1
    if not words:
        raise SystemExit(__doc__)
    bench, exceptions = Bench(words[0], everything), read_exceptions()
    headers = sorted(os.path.join(ROOT, "include", "stillroom", f)
                     for f in os.listdir(os.path.join(ROOT, "include", "stillroom")))
    headers += sorted(os.path.join(ROOT, "lib", f) for f in os.listdir(os.path.join(ROOT, "lib"))
                      if f.endswith(".h"))
    files = [os.path.abspath(f) for f in words[1:]] or bench.sources + headers
    with ThreadPoolExecutor(max_workers=os.cpu_count()) as pool:
        bench.compile_all(pool)
        bench.find_reach()
        bench.check_untouched()
        jobs = []
        for path in files:
            for slip in coefficients(path, exceptions, everything):
                jobs.append((path, slip, pool.submit(bench.try_slip, path, slip, len(jobs))))
        unnoticed = bounds = 0
        for path, (_, literal, line, bound), job in jobs:
            by = job.result()
            unnoticed += by is None and not bound
            bounds += by is None and bound
            print(f"{os.path.relpath(path, ROOT)}:{line}: {literal} -> {slipped(literal)}: "
                  + (f"noticed by {by}" if by else "a bound" if bound else "NOT NOTICED"),
                  flush=True)
    shutil.rmtree(bench.work, ignore_errors=True)
    print(f"{len(jobs)} coefficients, {unnoticed} unnoticed; {bounds} bounds unnoticed")
    return 1 if unnoticed or not jobs else 0


if __name__ == "__main__":
    sys.exit(main())
