package job

import (
	"math"
	"strconv"
	"strings"

	"runnel/unit"
)

// customary lists, for each dimension, the units a value of a job is written in; the first is the one used in advice.
func customary(d unit.Dimension) []string {
	switch d.Name {
	case unit.Length.Name:
		return []string{"mm", "in", "m"}
	case unit.Pressure.Name:
		return []string{"Pa", "inH2O", "kPa", "hPa", "inHg", "psi", "bar"}
	case unit.Temperature.Name:
		return []string{"°C", "°F", "K"}
	case unit.Area.Name:
		return []string{"mm²", "cm²", "in²"}
	case unit.Volume.Name:
		return []string{"L", "cm³", "in³"}
	case unit.VolumeFlow.Name:
		return []string{"cfm", "L/s", "m³/h"}
	case unit.Angle.Name:
		return []string{"°"}
	case unit.Rotation.Name:
		return []string{"rpm"}
	case unit.Ratio.Name:
		return []string{"%", ""}
	default:
		return d.Names()
	}
}

// shortest returns the shortest decimal number that, read in unit u, is exactly si again. There is none for
// some values that were never read in that unit; ok is then false.
func shortest(u unit.Unit, si float64) (text string, ok bool) {
	v := u.FromSI(si)
	for digits := 1; digits <= 17; digits++ {
		if text, ok = trial(u, v, digits, si); ok {
			return text, true
		}
	}
	up, down := v, v
	for range 4 {
		up, down = math.Nextafter(up, math.Inf(1)), math.Nextafter(down, math.Inf(-1))
		if text, ok = trial(u, up, 17, si); ok {
			return text, true
		}
		if text, ok = trial(u, down, 17, si); ok {
			return text, true
		}
	}
	return "", false
}

func trial(u unit.Unit, v float64, digits int, si float64) (string, bool) {
	text := strconv.FormatFloat(v, 'g', digits, 64)
	back, err := strconv.ParseFloat(text, 64)
	if err != nil || u.ToSI(back) != si {
		return "", false
	}
	return plain(back), true
}

// plain writes a number without exponent when it is of ordinary size.
func plain(v float64) string {
	if a := math.Abs(v); v == 0 || (a >= 1e-5 && a < 1e9) {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}

// typedFigures is the most figures that a number somebody typed is taken to have.
const typedFigures = 10

// quantity writes an SI value in the customary unit that needs the fewest figures, so that it is read back exactly. A
// computed value, which needs many in all of them, stays in the first.
func quantity(d unit.Dimension, si float64) string {
	if si-si != 0 {
		return ""
	}
	best, figures := "", math.MaxInt
	for _, name := range append(customary(d), d.SI().Name) {
		u, ok := d.Lookup(name)
		if !ok {
			continue
		}
		text, ok := shortest(u, si)
		if !ok {
			continue
		}
		if n := significant(text); best == "" || (n < figures && n <= typedFigures) {
			best, figures = strings.TrimSpace(text+" "+u.Name), n
		}
	}
	return best
}

func significant(text string) int {
	mantissa, _, _ := strings.Cut(text, "e")
	digits := strings.Trim(strings.NewReplacer(".", "", "-", "").Replace(mantissa), "0")
	return len(digits)
}
