package plot

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"runnel/assess"
	"runnel/job"
	"runnel/unit"
)

// traceColumns is how many columns a long trace is thinned to; each keeps its least and its greatest sample, so that no
// spike is lost.
const traceColumns = 560

// Trace draws one channel of a trace with its steady part shaded. The channel is shown in the unit it was written in.
func Trace(tr job.Trace, channel string, r assess.Reading) Figure {
	f := Figure{
		Title: "Trace of the " + channelWords(channel), Desc: "Samples over time; the shaded part is what the reading was taken from.",
		X: Axis{Label: "Time", Unit: "s"}, Y: Axis{Label: capital(channelWords(channel))},
	}
	c, ok := tr.Channel(channel)
	if !ok {
		return f
	}
	from := func(si float64) float64 { return si }
	if u, ok := unitNamed(c.Unit); ok {
		from, f.Y.Unit = u.FromSI, u.Name
	}
	line := Line{Ink: Before, Thin: true}
	line.X, line.Y = thin(tr.Time, c.Values, traceColumns)
	for i := range line.Y {
		line.Y[i] = from(line.Y[i])
	}
	if r.SteadyTo > r.SteadyFrom {
		f.Layers = append(f.Layers, Shade{Along: AlongX, From: r.SteadyFrom, To: r.SteadyTo, Ink: After, Label: "steady part", Foot: true})
	}
	f.Layers = append(f.Layers, line)
	if m, ok := meanBetween(tr.Time, c.Values, r.SteadyFrom, r.SteadyTo); ok && r.Usable {
		f.Layers = append(f.Layers, Rule{Along: AlongY, At: from(m), Ink: After, Label: "mean"})
		f.Desc += " Mean of the steady part " + Number(from(m), 2) + " " + f.Y.Unit + "."
	}
	return f
}

// channelWords is what the common channels of a bench are called; another keeps its name.
func channelWords(channel string) string {
	switch channel {
	case "meter_dp":
		return "meter pressure difference"
	case "test_dp":
		return "test pressure"
	case "air_pressure", "air_temp", "meter_temp", "meter_reading":
		return strings.NewReplacer("_", " ", "temp", "temperature").Replace(channel)
	case "air_rh":
		return "air humidity"
	}
	return strings.ReplaceAll(channel, "_", " ")
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func unitNamed(name string) (unit.Unit, bool) {
	for _, d := range unit.All() {
		if u, ok := d.Lookup(name); ok {
			return u, true
		}
	}
	return unit.Unit{}, false
}

func meanBetween(t, v []float64, from, to float64) (float64, bool) {
	sum, n := 0.0, 0
	for i := range min(len(t), len(v)) {
		if t[i] >= from && t[i] <= to && finite(v[i]) {
			sum += v[i]
			n++
		}
	}
	if n == 0 {
		return 0, false
	}
	return sum / float64(n), true
}

// thin keeps the least and the greatest sample of each of n equal stretches, in their order. It returns copies.
func thin(x, y []float64, n int) (tx, ty []float64) {
	size := min(len(x), len(y))
	if size <= 2*n {
		return append([]float64(nil), x[:size]...), append([]float64(nil), y[:size]...)
	}
	for k := range n {
		from, to := k*size/n, (k+1)*size/n
		lo, hi := from, from
		for i := from; i < to; i++ {
			if y[i] < y[lo] || !finite(y[lo]) {
				lo = i
			}
			if y[i] > y[hi] || !finite(y[hi]) {
				hi = i
			}
		}
		for _, i := range []int{min(lo, hi), max(lo, hi)} {
			tx, ty = append(tx, x[i]), append(ty, y[i])
		}
	}
	return tx, ty
}
