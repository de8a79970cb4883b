"""What the comparisons with other programs share: asking the library, and weighing answers."""
import os
import shutil
import subprocess


class Library:
    """peer_rows of the build folder: one question a line, one answer a line."""

    def __init__(self, build):
        self.program = os.path.join(build, "tests", "peer_rows")

    def ask(self, questions):
        text = "".join(" ".join(word if isinstance(word, str) else repr(float(word))
                                for word in q) + "\n" for q in questions)
        done = subprocess.run([self.program], input=text, capture_output=True, text=True)
        if done.returncode != 0:
            raise SystemExit(f"peer_rows failed: {done.stderr}")
        return done.stdout.splitlines()

    def values(self, questions):
        """Numbers only: a refusal is a failure."""
        answers = self.ask(questions)
        if len(answers) != len(questions):
            raise SystemExit(f"{len(questions)} questions, {len(answers)} answers")
        for question, answer in zip(questions, answers):
            if answer.startswith("refused"):
                raise SystemExit(f"refused: {question}")
        return [float(a.split()[0]) for a in answers]


class Tally:
    """Counts comparisons; the first beyond its tolerance of a kind is shown in full."""

    def __init__(self):
        self.count = 0
        self.failures = 0
        self.worst = {}

    def near(self, what, got, want, absolute=0.0, relative=0.0, at=None):
        self.count += 1
        miss = abs(got - want)
        self.worst[what] = max(self.worst.get(what, 0.0), miss)
        if not miss <= absolute + relative * abs(want):
            self.failures += 1
            if self.failures <= 20:
                print(f"{what}: got {got!r}, expected {want!r} at {at}")

    def report(self):
        for what, miss in self.worst.items():
            print(f"{what}: largest difference {miss:.3g}")
        print(f"{self.count} comparisons, {self.failures} beyond tolerance")
        return 1 if self.failures or not self.count else 0


def npm_folder(build, source):
    """Installs by the lock file in source, in the build folder, again only if it changed."""
    folder = os.path.join(build, "published-packages")
    stamp = os.path.join(folder, "installed-lock.json")
    lock = os.path.join(source, "package-lock.json")
    with open(lock, encoding="utf-8") as f:
        wanted = f.read()
    if os.path.exists(stamp):
        with open(stamp, encoding="utf-8") as f:
            if f.read() == wanted:
                return folder
    os.makedirs(folder, exist_ok=True)
    for name in ("package.json", "package-lock.json", ".npmrc"):
        shutil.copy(os.path.join(source, name), folder)
    subprocess.run(["npm", "ci", "--prefer-offline", "--loglevel=error"], cwd=folder, check=True)
    shutil.copy(lock, stamp)
    return folder
