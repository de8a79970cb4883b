"""A source against pymodbus, TCP and RTU over a pair of pseudo-terminals, polled every second:
no reading lost, doubled, shifted or changed.

    test_source_pymodbus.py BUILD [SECONDS]
"""
import importlib.util
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time

HERE = os.path.dirname(os.path.abspath(__file__))
DEVICE = os.path.join(HERE, "..", "support", "modbus_device.py")


def wait_for(what, ready, seconds=20):
    end = time.time() + seconds
    while time.time() < end:
        if ready():
            return
        time.sleep(0.1)
    sys.exit(f"{what} did not come up")


def listens(port):
    with socket.socket() as s:
        return s.connect_ex(("127.0.0.1", port)) == 0


def free_port():
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return s.getsockname()[1]


def served(log, unit):
    with open(log, encoding="ascii") as lines:
        rows = [tuple(map(int, line.split())) for line in lines]
    return [(number, second) for u, number, second in rows if u == unit]


def recorded(text):
    """Readings by channel, in the order in which they came: (t, value, gap)."""
    channels = {}
    for line in text.splitlines():
        channel, t, value, gap, _ = line.split()
        channels.setdefault(int(channel), []).append((int(t), int(value), gap))
    return channels


def check(kind, text, log, seconds):
    """The faults of one run, in words."""
    faults = []
    channels = recorded(text)
    for i, unit in enumerate((1, 2)):
        answers = served(log, unit)
        numbers, moments = channels.get(2 * i, []), channels.get(2 * i + 1, [])
        if len(numbers) != len(moments) or len(numbers) < seconds - 1:
            faults.append(f"{kind} unit {unit}: {len(numbers)} and {len(moments)} readings "
                          f"in {seconds} s")
        if len(answers) != len(numbers):
            faults.append(f"{kind} unit {unit}: served {len(answers)}, put {len(numbers)}")
        for k, ((t, number, gap), (t2, moment, gap2)) in enumerate(zip(numbers, moments)):
            at = f"{kind} unit {unit} reading {k} at {t}"
            if gap != "none" or gap2 != "none":
                faults.append(f"{at}: gap {gap}, {gap2}")
                continue
            if t != t2 or (k > 0 and t != numbers[k - 1][0] + 1):
                faults.append(f"{at}: does not follow the slot before")
            if k >= len(answers) or number != answers[k][0] & 0xFFFF:
                faults.append(f"{at}: {number} is not what was served for it")
            elif moment != answers[k][1] & 0xFFFF or not 0 <= answers[k][1] - t <= 1:
                faults.append(f"{at}: asked at {answers[k][1]}, holds {moment}")
    return faults


def main():
    build = sys.argv[1]
    seconds = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    for module in ("pymodbus", "serial_asyncio"):
        if importlib.util.find_spec(module) is None:
            print(f"skipped: python3 has no {module}")
            return 77
    if shutil.which("socat") is None:
        print("skipped: no socat")
        return 77
    folder = tempfile.mkdtemp()
    ours, theirs = os.path.join(folder, "ours"), os.path.join(folder, "theirs")
    port = free_port()
    started = []
    try:
        started.append(subprocess.Popen(["socat", f"pty,raw,echo=0,link={ours}",
                                         f"pty,raw,echo=0,link={theirs}"]))
        wait_for("socat", lambda: os.path.exists(ours) and os.path.exists(theirs))
        logs = {kind: os.path.join(folder, kind + ".log") for kind in ("tcp", "rtu")}
        for kind, where in (("tcp", str(port)), ("rtu", theirs)):
            started.append(subprocess.Popen([sys.executable, DEVICE, kind, where, logs[kind]],
                                            stderr=subprocess.DEVNULL))
        wait_for("the TCP device", lambda: listens(port))
        wait_for("the RTU device", lambda: os.path.exists(logs["rtu"]))
        time.sleep(1)  # the serial server opens its port after it has opened its log
        helper = os.path.join(build, "tests", "helper_source")
        runs = {kind: subprocess.Popen([helper, kind, where, "1", str(seconds), "1", "2"],
                                       stdout=subprocess.PIPE, text=True)
                for kind, where in (("tcp", str(port)), ("rtu", ours))}
        texts = {kind: run.communicate()[0] for kind, run in runs.items()}
    finally:
        for process in started:
            process.terminate()
            process.wait()
    faults = []
    for kind, text in texts.items():
        faults += check(kind, text, logs[kind], seconds)
        print(f"{kind}: {len(text.splitlines())} readings in {seconds} s")
    shutil.rmtree(folder)
    for fault in faults[:20]:
        print(fault)
    return 1 if faults else 0


sys.exit(main())
