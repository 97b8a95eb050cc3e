// Package serial reads sensors that write lines of text to a serial port.
//
//	serial:PORT?baud=115200&line=PATTERN&check=xor#FIELD
//
// Options of the line: baud (9600), bits (8), parity (none, odd, even), stop (1, 1.5, 2), line, check, and send with every for
// devices that answer only when asked. Options of a sensor: unit, scale, offset, rate.
//
// A pattern is the text of a line with its fields in braces: "M{meter_dp:Pa} T{test_dp:inH2O}". A field is a name, or a name
// and its unit; {} is a number that is not read; {time:ms} is the device's own clock. A space in the pattern is any number of
// spaces and tabs. Without a pattern a line is split at commas, semicolons, spaces and tabs: an item "name=3.5" is the field
// name, and items without a name are the fields 1, 2, 3 … by their place.
//
// A checksum stands at the end of the line after an asterisk, in hexadecimal: xor and sum are over all bytes before the
// asterisk, a leading $ left out, modulo 256; crc16 is the one of Modbus (reflected polynomial A001, start FFFF). Lines whose
// checksum is missing or wrong are left out and counted.
package serial
