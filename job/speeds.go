package job

import (
	"fmt"
	"strconv"
	"strings"
)

// ParseSpeeds reads a list of engine speeds in rpm, "2000:7000:500" (first:last:step), "2000:7000" (steps of 500)
// or "2500,3000,4200", and returns them in rev/s, rising.
func ParseSpeeds(s string) ([]float64, error) {
	const fastest = 30000 // rpm
	bad := fmt.Errorf("speeds %q cannot be read: write first:last:step in rpm, as \"2000:7000:500\", or a list, as \"2500,3000,4200\"", s)
	var rpm []float64
	if strings.Contains(s, ":") {
		parts := strings.Split(s, ":")
		v := []float64{0, 0, 500}
		if len(parts) > 3 {
			return nil, bad
		}
		for i, p := range parts {
			x, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
			if err != nil {
				return nil, bad
			}
			v[i] = x
		}
		if !(v[0] > 0 && v[1] >= v[0] && v[2] > 0) {
			return nil, bad
		}
		if n := (v[1] - v[0]) / v[2]; n > 200 {
			return nil, fmt.Errorf("speeds %q are %.0f: write a larger step, for 200 speeds at most", s, n+1)
		}
		for i := 0; v[0]+float64(i)*v[2] <= v[1]*(1+1e-9); i++ {
			rpm = append(rpm, v[0]+float64(i)*v[2])
		}
	} else {
		for p := range strings.SplitSeq(s, ",") {
			x, err := strconv.ParseFloat(strings.TrimSpace(p), 64)
			if err != nil || !(x > 0) || (len(rpm) > 0 && x <= rpm[len(rpm)-1]) {
				return nil, bad
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
