package serial

import (
	"strconv"
	"strings"
)

// checked takes the checksum off a line; ok is false when it is missing or wrong.
func checked(line, kind string) (body string, ok bool) {
	if kind == "none" {
		return line, true
	}
	i := strings.LastIndexByte(line, '*')
	if i < 0 {
		return "", false
	}
	want, err := strconv.ParseUint(strings.TrimSpace(line[i+1:]), 16, 16)
	if err != nil {
		return "", false
	}
	body = line[:i]
	return body, uint64(checksum(strings.TrimPrefix(body, "$"), kind)) == want
}

// checksum is over the bytes of s.
func checksum(s, kind string) uint16 {
	switch kind {
	case "xor":
		var x byte
		for i := range len(s) {
			x ^= s[i]
		}
		return uint16(x)
	case "sum":
		var x byte
		for i := range len(s) {
			x += s[i]
		}
		return uint16(x)
	}
	return crc16(s)
}

// crc16 is the checksum of Modbus. Source: MODBUS over Serial Line V1.02, 6.2.2.
func crc16(s string) uint16 {
	crc := uint16(0xFFFF)
	for i := range len(s) {
		crc ^= uint16(s[i])
		for range 8 {
			odd := crc&1 != 0
			crc >>= 1
			if odd {
				crc ^= 0xA001
			}
		}
	}
	return crc
}
