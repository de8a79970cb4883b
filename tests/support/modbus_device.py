"""A pymodbus device whose registers tell which request they answer.

    modbus_device.py tcp PORT LOG
    modbus_device.py rtu DEVICE LOG

Units 1 and 2. At each request input register 0 holds a number that rises by one from request to
request of its unit, register 1 the UTC second in which the request came (low 16 bits). Each
answer is written to LOG as "unit number second", flushed before it is sent.
"""
import sys
import time

from pymodbus.datastore import ModbusServerContext, ModbusSlaveContext
from pymodbus.datastore import ModbusSequentialDataBlock


class Advancing(ModbusSequentialDataBlock):
    def __init__(self, unit, log):
        super().__init__(0, [0] * 2)
        self.unit, self.log, self.number = unit, log, 0

    def getValues(self, address, count=1):
        self.number += 1
        second = int(time.time())
        self.log.write(f"{self.unit} {self.number} {second}\n")
        self.log.flush()
        return [self.number & 0xFFFF, second & 0xFFFF][address:address + count]


def main():
    kind, where, log_path = sys.argv[1:4]
    log = open(log_path, "w", encoding="ascii")
    slaves = {u: ModbusSlaveContext(ir=Advancing(u, log), zero_mode=True) for u in (1, 2)}
    context = ModbusServerContext(slaves=slaves, single=False)
    if kind == "tcp":
        from pymodbus.server import StartTcpServer
        StartTcpServer(context=context, address=("127.0.0.1", int(where)))
    else:
        from pymodbus.server import StartSerialServer
        from pymodbus.transaction import ModbusRtuFramer
        StartSerialServer(context=context, framer=ModbusRtuFramer, port=where, baudrate=19200,
                          timeout=0.005)


main()
