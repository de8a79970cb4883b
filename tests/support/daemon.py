"""What the tests of the running daemon share: a studio in a folder of its own, the daemon on it,
and what others see of it: HTTP, the sqlite3 shell, `stillroom export`."""
import csv
import http.client
import io
import json
import os
import shutil
import signal
import socket
import subprocess
import tempfile
import time
import urllib.parse
import urllib.request


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def days_ini():
    """The wiring of helper_days."""
    with open(os.path.join(os.path.dirname(__file__), "days.ini"), encoding="utf-8") as f:
        return f.read()


def wait_until(what, seconds, every=0.05):
    """The first truthy answer of what(), or None when the time is over."""
    end = time.monotonic() + seconds
    while True:
        answer = what()
        if answer:
            return answer
        if time.monotonic() > end:
            return None
        time.sleep(every)


class Studio:
    """A folder with a site file and a store, and the daemon that runs on them."""

    def __init__(self, build, body, studio="", folder=None, http=""):
        self.build = build
        self.own_folder = folder is None
        self.folder = folder or tempfile.mkdtemp(prefix="stillroom-test-")
        self.site = os.path.join(self.folder, "site.ini")
        self.db = os.path.join(self.folder, "stillroom.db")
        self.port = free_port()
        self.process = None
        self.log = os.path.join(self.folder, "log")
        self.head = (f"[studio]\nname = Test\ntimezone = UTC\nclock = trusted\ndefaults = no\n"
                     f"{studio}[store]\npath = {self.db}\n"
                     f"[http]\nlisten = 127.0.0.1:{self.port}\n{http}")
        self.write_site(body)

    def write_site(self, body):
        with open(self.site, "w", encoding="utf-8") as f:
            f.write(self.head + body)

    # -- the daemon --

    def launch(self):
        """Starts it without waiting."""
        with open(self.log, "ab") as log:
            self.process = subprocess.Popen(
                [os.path.join(self.build, "bin", "stillroomd"), "--site", self.site],
                stdout=log, stderr=log, stdin=subprocess.DEVNULL)

    def start(self, seconds=30):
        self.launch()
        up = wait_until(lambda: self.process.poll() is not None or self.health() is not None,
                        seconds)
        if not up or self.process.poll() is not None:
            raise AssertionError("the daemon did not start:\n" + self.words())

    def refused(self, seconds=30):
        """Runs it where it must not start: (exit status, what it said)."""
        before = len(self.words())
        self.launch()
        status = self.process.wait(timeout=seconds)
        self.process = None
        return status, self.words()[before:]

    def stop(self, seconds=30):
        """Asks it to stop; its exit status."""
        self.process.send_signal(signal.SIGTERM)
        return self.ended(seconds)

    def ended(self, seconds=30):
        status = self.process.wait(timeout=seconds)
        self.process = None
        return status

    def kill(self):
        self.process.kill()
        self.ended()

    def words(self):
        """All that it said since the folder was made."""
        try:
            with open(self.log, encoding="utf-8", errors="replace") as f:
                return f.read()
        except FileNotFoundError:
            return ""

    def close(self):
        if self.process is not None:
            self.process.kill()
            self.process.wait()
        if self.own_folder:
            shutil.rmtree(self.folder, ignore_errors=True)

    # -- what others see --

    def get(self, path, timeout=10, **query):
        url = f"http://127.0.0.1:{self.port}{path}"
        if query:
            url += "?" + urllib.parse.urlencode(query)
        with urllib.request.urlopen(url, timeout=timeout) as answer:
            return json.load(answer)

    def health(self):
        try:
            return self.get("/healthz", timeout=5)
        except urllib.error.HTTPError as refusal:  # "cannot write" is an answer too
            return json.loads(refusal.read() or b"{}")
        except (OSError, ValueError, http.client.HTTPException):
            return None

    def sql(self, question, seconds=60):
        """Rows of text by the stock sqlite3 shell."""
        done = subprocess.run(["sqlite3", "-readonly", "-batch", "-noheader", "-separator", "\t",
                               "-cmd", ".timeout 10000", self.db, question],
                              capture_output=True, text=True, timeout=seconds)
        if done.returncode != 0:
            raise AssertionError(f"sqlite3: {done.stderr}")
        return [tuple(line.split("\t")) for line in done.stdout.splitlines()]

    def tail(self, quantity):
        """(t, value, flags) of a quantity in the order they came."""
        rows = self.sql("SELECT t, value, flags FROM tail JOIN channel ON channel.id ="
                        f" tail.channel WHERE quantity = '{quantity}' ORDER BY seq")
        return [tuple(int(field) for field in row) for row in rows]

    def tool(self, *arguments, seconds=60):
        return subprocess.run([os.path.join(self.build, "bin", "stillroom"), "--site", self.site,
                               *arguments], capture_output=True, text=True, timeout=seconds)

    def export(self, zone, *quantities):
        """Rows of `stillroom export` in UTC: a list of dictionaries."""
        tomorrow = time.strftime("%Y-%m-%d", time.gmtime(time.time() + 86400))
        done = self.tool("export", "--zone", zone, "--utc", "--quantity", ",".join(quantities),
                         "--to", tomorrow)
        if done.returncode != 0:
            raise AssertionError(f"export: {done.stderr}")
        return list(csv.DictReader(io.StringIO(done.stdout, newline="")))
