package job

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// ParseSpeeds reads a list of engine speeds in rpm, "2000:7000:500" (first:last:step), "2000:7000" (steps of 500)
// or "2500,3000,4200", and returns them in rev/s, rising. A number may carry its unit, "3000 rpm".
func ParseSpeeds(s string) ([]float64, error) {
	const fastest = 30000 // rpm
	write := "write first:last:step in rpm, as \"2000:7000:500\", or a list, as \"2500,3000,4200\""
	not := func(why string) error { return fmt.Errorf("speeds %q %s: %s", s, why, write) }
	bad := fmt.Errorf("speeds %q cannot be read: %s", s, write)
	var rpm []float64
	if strings.Contains(s, ":") {
		parts := strings.Split(s, ":")
		v := []float64{0, 0, 500}
		if len(parts) > 3 {
			return nil, bad
		}
		for i, p := range parts {
			x, err := parseRPM(p)
			if err != nil {
				return nil, bad
			}
			v[i] = x
		}
		switch {
		case v[1] < v[0]:
			return nil, not("run downwards")
		case !(v[0] > 0 && v[1] >= v[0] && v[2] > 0):
			return nil, not("are not all above zero")
		}
		if n := (v[1] - v[0]) / v[2]; n > 200 {
			return nil, fmt.Errorf("speeds %q are %.0f: write a larger step, for 200 speeds at most", s, n+1)
		}
		for i := 0; v[0]+float64(i)*v[2] <= v[1]*(1+1e-9); i++ {
			rpm = append(rpm, v[0]+float64(i)*v[2])
		}
	} else {
		for p := range strings.SplitSeq(s, ",") {
			x, err := parseRPM(p)
			switch {
			case err != nil || math.IsNaN(x):
				return nil, bad
			case x <= 0:
				return nil, not("are not all above zero")
			case len(rpm) > 0 && x <= rpm[len(rpm)-1]:
				return nil, not("do not rise")
			}
			rpm = append(rpm, x)
		}
	}
	if top := rpm[len(rpm)-1]; top > fastest {
		return nil, fmt.Errorf("speeds %q reach %.0f rpm: write speeds in rpm, up to %d", s, top, fastest)
	}
	out := make([]float64, len(rpm))
	for i, x := range rpm {
		out[i] = x / 60
	}
	return out, nil
}

func parseRPM(s string) (float64, error) {
	s = strings.TrimSpace(s)
	s = strings.TrimSpace(strings.TrimSuffix(s, "rpm"))
	return strconv.ParseFloat(s, 64)
}
