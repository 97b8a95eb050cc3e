package rig

import (
	"fmt"
	"strings"
)

// Ends of the ranges of the sensors.
const (
	meterHigh = 5000.0 // [Pa]
	testHigh  = 60.0   // [inH2O]
)

// Sources is how each channel of a rig is addressed on an output, in the order of the channels.
type Sources [len(channels)]string

// SerialSources are the addresses over a serial port.
func SerialSources(port string) Sources {
	pattern := strings.NewReplacer(" ", "%20", "%", "%25", "°", "%C2%B0").Replace(Pattern)
	var s Sources
	for i, c := range channels {
		s[i] = "serial:" + port + "#" + c
	}
	s[0] = "serial:" + port + "?baud=115200&check=xor&line=" + pattern + "#" + channels[0]
	return s
}

// ModbusSources are the addresses over Modbus TCP.
func ModbusSources(place string, rate float64) Sources {
	var s Sources
	for i, u := range units {
		s[i] = fmt.Sprintf("modbus+tcp://%s/1?reg=input:%d&type=float32&unit=%s", place, 2*i, escape(u))
	}
	s[0] += fmt.Sprintf("&poll=%g", rate)
	return s
}

// MQTTSources are the addresses over MQTT, version "5" or "3.1.1".
func MQTTSources(place, topic, version string) Sources {
	var s Sources
	for i, u := range units {
		s[i] = fmt.Sprintf("mqtt://%s/%s?unit=%s#%s", place, topic, escape(u), jsonPaths[i])
	}
	s[0] = strings.Replace(s[0], "?", "?version="+version+"&clock=t:s&", 1)
	return s
}

// OwnSources are the addresses of a rig in the same process.
func OwnSources(options string) Sources {
	var s Sources
	for i, c := range channels {
		s[i] = "rig:#" + c
	}
	if options != "" {
		s[0] = "rig:?" + options + "#" + channels[0]
	}
	return s
}

func escape(u string) string { return strings.NewReplacer("%", "%25", "°", "%C2%B0").Replace(u) }

// CardMark is the first line of the bench card of a rig.
const CardMark = `# Invented: the simulated bench "runnel rig".`

// Card writes the bench card of a rig, its sensors read from the given sources. Its numbers are invented, and the
// uncertainties hold for what the seed draws.
func Card(s Sources) string {
	var b strings.Builder
	b.WriteString(CardMark + `
id = "rig"
title = "Simulated suction bench with an orifice plate (invented)"
setup_repeat = "0.2 %"
leak_limit = "2 %"
air_age = "60 min"

[[meters]]
id = "plate-60"
kind = "orifice_pipe"
title = "60 mm plate"
pipe = "100 mm"
bore = "60 mm"
taps = "corner"
u_pipe = "0.2 %"
u_bore = "0.04 %"
station = "downstream"

[check_plate]
id = "check-600"
effective_area = "600 mm²"
u = "0.3 %"
limit = "1 %"
`)
	ends := [...][2]float64{{0, meterHigh}, {0, testHigh}, {60000, 110000}, {-20, 60}, {0, 100}}
	u := [...]string{"0.2 %", "0.2 %", "20 Pa", "0.1 °C", "1 %"}
	for i, c := range channels {
		fmt.Fprintf(&b, "\n[[sensors]]\nchannel = %q\nrole = %q\nunit = %q\nlow = %g\nhigh = %g\nu = %q\nsource = %q\n", c, c, units[i], ends[i][0], ends[i][1], u[i], s[i])
	}
	return b.String()
}
