"""A studio that runs: five weeks of history, sensors by the simulator, the real daemon."""
import datetime
import os
import signal
import socket
import subprocess
import tempfile
import time
import urllib.error
import urllib.request

HERE = os.path.dirname(os.path.abspath(__file__))
TEMPLATE = os.path.join(HERE, "..", "..", "contrib", "simulator", "demo.ini")


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def iso(moment):
    return moment.strftime("%Y-%m-%dT%H:%M:00Z")


class DemoStudio:
    def __init__(self, build, days=35):
        self.bin = os.path.join(build, "bin")
        self.folder = tempfile.TemporaryDirectory()
        self.path = self.folder.name
        self.db = os.path.join(self.path, "stillroom.db")
        self.port = free_port()
        self.processes = []
        now = datetime.datetime.now(datetime.timezone.utc)
        midnight = now.replace(hour=0, minute=0)
        scene = iso(now)
        world = ["--seed", "7", "--world-from", iso(midnight - datetime.timedelta(days=days + 30)),
                 "--scene", scene]
        self.site_file("history.ini", 1502, every="every = 5 min")
        subprocess.run([os.path.join(self.bin, "stillroom-history"), "--site",
                        os.path.join(self.path, "history.ini"), *world,
                        "--from", iso(midnight - datetime.timedelta(days=days))],
                       check=True, capture_output=True, timeout=120)
        sim = subprocess.Popen([os.path.join(self.bin, "stillroom-sim"), "--tcp", "127.0.0.1:0",
                                "--rtu", os.path.join(self.path, "line"), *world],
                               stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                               stderr=subprocess.DEVNULL, text=True)
        self.processes.append(sim)
        sensors = int(sim.stdout.readline().split()[1].rsplit(":")[-1])
        sim.stdout.readline()
        self.site = self.site_file("site.ini", sensors, every="every = 2 s")
        self.start()

    def site_file(self, name, sensors, every):
        with open(TEMPLATE, encoding="utf-8") as f:
            text = f.read()
        for key, value in (("@STATE@", self.path), ("@PORT@", str(self.port)),
                           ("@TCP@", str(sensors)), ("@RTU@", self.path + "/line")):
            text = text.replace(key, value)
        lines = [every if line.startswith("every = ") else line for line in text.splitlines()]
        path = os.path.join(self.path, name)
        with open(path, "w", encoding="utf-8") as f:
            f.write("\n".join(lines) + "\n")
        return path

    def start(self):
        self.log = open(os.path.join(self.path, "log"), "a", encoding="utf-8")
        self.daemon = subprocess.Popen([os.path.join(self.bin, "stillroomd"), "--site", self.site],
                                       stderr=self.log)
        self.processes.append(self.daemon)
        began = int(time.time())
        for _ in range(300):
            time.sleep(0.1)
            try:
                zones = self.json("/api/v1/zones")["zones"]
            except (OSError, ValueError):
                assert self.daemon.poll() is None, self.log_text()
                continue
            if all(z["now"] and z["now"]["t"] >= began for z in zones):
                return
        raise AssertionError("no live readings: " + self.log_text())

    def log_text(self):
        with open(os.path.join(self.path, "log"), encoding="utf-8") as f:
            return f.read()

    def ask(self, path, method="GET", headers=None):
        """(status, headers, body) of one request, whatever the status."""
        request = urllib.request.Request(f"http://127.0.0.1:{self.port}{path}", method=method,
                                         headers=headers or {})
        try:
            with urllib.request.urlopen(request, timeout=10) as answer:
                return answer.status, answer.headers, answer.read()
        except urllib.error.HTTPError as error:
            return error.code, error.headers, error.read()

    def json(self, path):
        import json
        status, _, body = self.ask(path)
        if status != 200:
            raise ValueError(f"{path}: {status} {body!r}")
        return json.loads(body)

    def stop_daemon(self):
        """Seconds that it took, and the exit status."""
        began = time.monotonic()
        self.daemon.send_signal(signal.SIGTERM)
        status = self.daemon.wait(timeout=30)
        self.processes.remove(self.daemon)
        self.log.close()
        return time.monotonic() - began, status

    def close(self):
        for process in self.processes:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                if pipe is not None:
                    pipe.close()
        if not self.log.closed:
            self.log.close()
        self.folder.cleanup()
