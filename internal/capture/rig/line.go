package rig

import (
	"encoding/json"
	"fmt"
	"strconv"
)

// Pattern is the line a rig writes to a serial port, as a source address has it. The checksum is the exclusive or.
const Pattern = "$t={time:ms} m={meter_dp:Pa} d={test_dp:inH2O} p={air_pressure:Pa} c={air_temp:°C} h={air_rh:%}"

// Line writes a sample as a line, with its checksum.
func Line(s Sample) string {
	body := fmt.Sprintf("$t=%.0f m=%g d=%g p=%g c=%g h=%g", s.Time*1e3, s.Values[0], s.Values[1], s.Values[2], s.Values[3], s.Values[4])
	var sum byte
	for i := 1; i < len(body); i++ {
		sum ^= body[i]
	}
	return body + fmt.Sprintf("*%02X\r\n", sum)
}

// message writes a sample as JSON.
func message(s Sample) []byte {
	m := map[string]any{"t": s.Time, "air": map[string]float64{"pressure": s.Values[2], "temp": s.Values[3], "rh": s.Values[4]}}
	m["meter_dp"], m["test_dp"] = s.Values[0], s.Values[1]
	b, err := json.Marshal(m)
	if err != nil {
		panic("rig: " + err.Error()) // numbers of a rig are finite
	}
	return b
}

// jsonPaths are the fields of message, in the order of the channels.
var jsonPaths = [...]string{"meter_dp", "test_dp", "air.pressure", "air.temp", "air.rh"}

func plain(v float64) []byte { return strconv.AppendFloat(nil, v, 'g', -1, 64) }
