"""The daemon itself: memory, start, processor. A house of 100 instruments against the simulator,
with a database of ten years behind it.  Arguments: the build folder, and "short" for a run that
only proves it works.
"""
import os
import subprocess
import sys
import tempfile
import time
import urllib.request

build = os.path.abspath(sys.argv[1])
brief = len(sys.argv) > 2 and sys.argv[2] == "short"
PORT, SENSORS = 28620, 25502
STREAMS = 16


def row(work, project, bar, unit):
    ratio = project / bar
    print(f"{work:<44} project {project:12.2f}  baseline {bar:12.2f} {unit:<12} "
          f"ratio {ratio:8.3f}  bar <= 1  {'met' if ratio <= 1 else 'NOT MET'}", flush=True)


def site(folder, instruments, every):
    """All instruments read the simulator's unit 1: what counts is how many there are."""
    lines = ["[studio]", "name = Bench", "timezone = UTC", "clock = trusted", "[store]",
             f"path = {folder}/stillroom.db", "[http]", f"listen = 127.0.0.1:{PORT}",
             "[bus b]", "kind = modbus-tcp", f"address = 127.0.0.1:{SENSORS}",
             "[map air]", "read = temperature input 0 int16 x0.1",
             "read = humidity input 1 uint16 x0.1"]
    for i in range(instruments):
        lines += [f"[zone z{i}]", f"title = Zone {i}", "purpose = store", f"[instrument i{i}]",
                  "bus = b", "unit = 1", f"serial = {i}", f"every = {every} s", f"zone = z{i}",
                  "map = air"]
    path = f"{folder}/site.ini"
    with open(path, "w", encoding="utf-8") as out:
        out.write("\n".join(lines) + "\n")
    return path


def get(path):
    with urllib.request.urlopen(f"http://127.0.0.1:{PORT}{path}", timeout=5) as answer:
        return answer.read()


def start(path):
    """The daemon, and how long it took until it answered."""
    begin = time.monotonic()
    daemon = subprocess.Popen([f"{build}/bin/stillroomd", "--site", path],
                              stderr=subprocess.DEVNULL)
    while True:
        try:
            get("/healthz")
            return daemon, time.monotonic() - begin
        except OSError:
            if time.monotonic() - begin > 30 or daemon.poll() is not None:
                sys.exit("the daemon did not start")
            time.sleep(0.005)


def resident_kib(pid):
    with open(f"/proc/{pid}/status", encoding="utf-8") as f:
        return next(int(line.split()[1]) for line in f if line.startswith("VmRSS"))


def cpu_seconds(pid):
    with open(f"/proc/{pid}/stat", encoding="utf-8") as f:
        fields = f.read().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def stop(process):
    process.terminate()
    process.wait(30)


with tempfile.TemporaryDirectory(dir=os.environ.get("BENCH_FOLDER")) as folder:
    years = 1 if brief else 10
    # Ten minutes between two readings of the past, as the helper records them.
    subprocess.run([f"{build}/tests/helper_years", site(folder, 100, 600), str(years)],
                   check=True)
    site(folder, 100, 60)
    sensors = subprocess.Popen([f"{build}/bin/stillroom-sim", "--tcp", f"127.0.0.1:{SENSORS}"],
                               stdin=subprocess.PIPE, stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)
    try:
        time.sleep(0.5)
        daemon, took = start(f"{folder}/site.ini")
        row(f"start with {years} years, to its first answer", took * 1e3, 300, "ms")
        streams = [urllib.request.urlopen(f"http://127.0.0.1:{PORT}/api/v1/events")
                   for _ in range(STREAMS)]
        time.sleep(5 if brief else 70)
        for i in range(20):
            get(f"/api/v1/zones/z{i % 3}/series?quantity=humidity&points=2000"
                f"&from={int(time.time()) - years * 365 * 86400}&to={int(time.time())}")
            get("/api/v1/zones")
        row("resident memory, 200 channels, 16 streams", resident_kib(daemon.pid) / 1024, 24,
            "MiB")
        for stream in streams:
            stream.close()
        stop(daemon)

        site(folder, 100, 10)
        daemon, _ = start(f"{folder}/site.ini")
        time.sleep(2 if brief else 12)
        before, begin = cpu_seconds(daemon.pid), time.monotonic()
        time.sleep(10 if brief else 120)
        share = (cpu_seconds(daemon.pid) - before) / (time.monotonic() - begin) * 100
        row("processor, 100 instruments every 10 s", share, 0.3, "% of a core")
        stop(daemon)
    finally:
        sensors.stdin.close()
        stop(sensors)
