# A Modbus server for the tests: Debian's python3-pymodbus serves known numbers, over TCP or a serial line.
# Usage: server.py tcp HOST NUMBER | server.py rtu PORT
import struct
import sys

from pymodbus.datastore import ModbusServerContext, ModbusSlaveContext, ModbusSequentialDataBlock
from pymodbus.framer.rtu_framer import ModbusRtuFramer
from pymodbus.server import StartSerialServer, StartTcpServer


def words(fmt, value):
    raw = struct.pack(">" + fmt, value)
    return list(struct.unpack(">" + "H" * (len(raw) // 2), raw))


registers = [0] * 400
for at, fmt, value in [
    (0, "f", 1234.5), (4, "h", -321), (5, "H", 65000), (6, "i", -100000), (8, "I", 4000000000), (10, "d", 6974.48892), (14, "q", -5000000000),
]:
    w = words(fmt, value)
    registers[at:at + len(w)] = w
for at, fmt, value in [(20, "f", 28.125), (24, "d", -0.001), (28, "i", 77777)]:  # low word first
    w = words(fmt, value)[::-1]
    registers[at:at + len(w)] = w
registers[300:302] = words("f", 99800.0)  # far from the others: a request of its own

store = ModbusSlaveContext(ir=ModbusSequentialDataBlock(0, registers), hr=ModbusSequentialDataBlock(0, registers[::-1]), zero_mode=True)
context = ModbusServerContext(slaves={1: store, 7: store}, single=False)
if sys.argv[1] == "tcp":
    StartTcpServer(context=context, address=(sys.argv[2], int(sys.argv[3])), allow_reuse_address=True)
else:
    StartSerialServer(context=context, port=sys.argv[2], framer=ModbusRtuFramer, baudrate=19200, timeout=1)
