// Package modbus reads sensors out of the registers of a Modbus server, over TCP or a serial line (RTU).
//
//	modbus+tcp://HOST:NUMBER/SERVER?reg=input:0&type=float32&order=high&unit=Pa
//	modbus+rtu:PORT?server=1&baud=19200&reg=holding:100&type=int16&scale=0.1
//
// Options of the line: poll, how often all registers are read a second (20), timeout in seconds (0.5), and for RTU server
// (1), baud (19200), bits (8), parity (none, odd, even), stop (1, 2). Options of a sensor: reg, the kind of register and its
// address counted from zero, "input:0" or "holding:100"; type (uint16, int16, uint32, int32, float32, uint64, int64,
// float64); order, which word of a longer type comes first, high or low (high); unit, scale, offset.
//
// Over TCP several servers on one host share the line; SERVER is 1 when it is left out. Registers that lie near each other
// are read in one request, so that they belong to one instant; a value that spans two requests is never made.
package modbus
