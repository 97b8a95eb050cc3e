package plot

import (
	"math"
	"strconv"
	"strings"
)

// ticks returns about n round values in lo to hi and the decimals they need.
func ticks(lo, hi float64, n int) ([]float64, int) {
	if n < 1 || hi <= lo || !finite(lo) || !finite(hi) {
		return nil, 0
	}
	step := niceStep((hi - lo) / float64(n))
	if step == 0 || !finite(step) {
		return nil, 0
	}
	first := math.Ceil(lo/step - 1e-9)
	last := math.Floor(hi/step + 1e-9)
	if last-first > 200 {
		return nil, 0
	}
	var out []float64
	for i := first; i <= last; i++ {
		out = append(out, i*step)
	}
	return out, decimalsOf(step)
}

// niceStep returns the smallest of 1, 2, 2.5, 5 times a power of ten that is not below v.
func niceStep(v float64) float64 {
	if v <= 0 {
		return 0
	}
	unit := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 2.5, 5} {
		if m*unit >= v*(1-1e-9) {
			return m * unit
		}
	}
	return 10 * unit
}

// decimalsOf returns how many decimals write the step exactly, six at most.
func decimalsOf(step float64) int {
	for d := range 6 {
		p := math.Pow(10, float64(d))
		if math.Abs(step*p-math.Round(step*p)) <= 1e-6*step*p {
			return d
		}
	}
	return 6
}

// Number writes v with the given decimals, a true minus sign and, from 10 000 on, thin spaces between the thousands.
func Number(v float64, decimals int) string {
	if !finite(v) {
		return "–"
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	whole, part, _ := strings.Cut(s, ".")
	if len(whole) > 4 {
		var b strings.Builder
		for i, r := range whole {
			if i > 0 && (len(whole)-i)%3 == 0 {
				b.WriteRune('\u2009')
			}
			b.WriteRune(r)
		}
		whole = b.String()
	}
	if decimals > 0 {
		whole += "." + part
	}
	if v < 0 && strings.ContainsAny(s, "123456789") {
		return "−" + whole
	}
	return whole
}

// Signed writes v as Number does, with its sign also when it is positive.
func Signed(v float64, decimals int) string {
	s := Number(v, decimals)
	if v > 0 && strings.ContainsAny(s, "123456789") {
		return "+" + s
	}
	return s
}
