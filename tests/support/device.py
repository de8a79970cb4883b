"""A Modbus device by others (pymodbus), in a process of its own: every request is given a value
that it never gave before, and what was given is written down with its time.

As a program: device.py (tcp PORT | rtu TTY) LOG, with lines "ADDRESS 0|1" on stdin that set
discrete inputs.
"""
import asyncio
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time


def wait_for(what, seconds=15):
    end = time.monotonic() + seconds
    while not what():
        if time.monotonic() > end:
            raise AssertionError("the device did not start")
        time.sleep(0.02)


class Device:
    """A unit on TCP (`port`) or, with rtu=True, at one end of a pty pair (`tty` is the other)."""

    def __init__(self, rtu=False):
        self.folder = tempfile.mkdtemp(prefix="stillroom-device-")
        self.log = os.path.join(self.folder, "served")
        self.rtu = rtu
        self.pair = None
        if rtu:
            self.tty = os.path.join(self.folder, "studio")
            far = os.path.join(self.folder, "device")
            self.pair = subprocess.Popen(["socat", f"pty,raw,echo=0,link={self.tty}",
                                          f"pty,raw,echo=0,link={far}"],
                                         stderr=subprocess.DEVNULL)
            wait_for(lambda: os.path.exists(self.tty) and os.path.exists(far))
        self.where = ["rtu", far] if rtu else ["tcp", "0"]
        self.process = None
        self.start()

    def start(self):
        self.process = subprocess.Popen([sys.executable, os.path.abspath(__file__), *self.where,
                                         self.log], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
                                        text=True)
        word, port = self.process.stdout.readline().split()
        assert word == "ready"
        if not self.rtu:
            self.port = int(port)
            self.where = ["tcp", port]  # where it comes back after stop()

    def stop(self):
        """Falls silent, as if its plug was pulled."""
        self.process.kill()
        self.process.communicate()

    def served(self):
        """(UTC seconds, number) of every request for input registers, in order."""
        with open(self.log, encoding="ascii") as f:
            return [(float(at), int(number)) for at, number in map(str.split, f)]

    def set_bit(self, address, on):
        self.process.stdin.write(f"{address} {int(on)}\n")
        self.process.stdin.flush()

    def site_bus(self, name):
        """The section of the site file that leads here."""
        if self.rtu:
            return (f"[bus {name}]\nkind = modbus-rtu\ndevice = {self.tty}\nbaud = 19200\n"
                    "parity = none\nstop_bits = 1\nresponse_timeout = 3 s\n")
        return (f"[bus {name}]\nkind = modbus-tcp\naddress = 127.0.0.1:{self.port}\n"
                "response_timeout = 3 s\n")

    def close(self):
        self.stop()
        if self.pair is not None:
            self.pair.terminate()
            self.pair.wait()
        shutil.rmtree(self.folder, ignore_errors=True)


async def serve(kind, where, log):
    # Imported here: only the device's own process needs them.
    from pymodbus.datastore import ModbusServerContext, ModbusSlaveContext
    from pymodbus.datastore.store import BaseModbusDataBlock
    from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
    from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer

    class Counter(BaseModbusDataBlock):
        """Input registers: the number of the request, and 1000 more in each next register."""

        default_value = 0
        values = {}
        number = 0

        def validate(self, address, count=1):
            return 0 <= address and address + count <= 8

        def getValues(self, address, count=1):  # pylint: disable=invalid-name
            self.number = self.number % 9000 + 1
            log.write(f"{time.time():.6f} {self.number}\n")
            log.flush()
            return [self.number + 1000 * (address + i) for i in range(count)]

    class Bits(BaseModbusDataBlock):
        default_value = False
        values = {}
        bits = [False] * 16

        def validate(self, address, count=1):
            return 0 <= address and address + count <= len(self.bits)

        def getValues(self, address, count=1):  # pylint: disable=invalid-name
            return self.bits[address:address + count]

    def listen_to_stdin():
        for line in sys.stdin:
            address, on = line.split()
            Bits.bits[int(address)] = on == "1"

    threading.Thread(target=listen_to_stdin, daemon=True).start()
    slave = ModbusSlaveContext(di=Bits(), ir=Counter(), zero_mode=True)
    context = ModbusServerContext(slaves={1: slave}, single=False)
    if kind == "rtu":
        server = ModbusSerialServer(context, framer=ModbusRtuFramer, port=where,
                                    baudrate=19200, parity="N", timeout=0.1)
        await server.start()
        print("ready 0", flush=True)
        await server.serve_forever()
        return
    server = ModbusTcpServer(context, framer=ModbusSocketFramer,
                             address=("127.0.0.1", int(where)), allow_reuse_address=True)
    serving = asyncio.ensure_future(server.serve_forever())
    await server.serving
    print("ready", server.server.sockets[0].getsockname()[1], flush=True)
    await serving


if __name__ == "__main__":
    with open(sys.argv[3], "a", encoding="ascii") as served_log:
        asyncio.run(serve(sys.argv[1], sys.argv[2], served_log))
