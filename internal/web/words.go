package web

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"runnel/unit"
)

// missing stands where there is no number.
const missing = "–"

// A show writes SI numbers in the units of the reader.
type show struct{ sys unit.System }

// IsUS reports whether the reader reads US units.
func (s show) IsUS() bool { return s.sys == unit.US }

func figure(st unit.Style, si float64) string {
	v := st.Value(si)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return missing
	}
	return number(v, st.Decimals)
}

// number writes v with its decimals, a true minus and no "-0".
func number(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return missing
	}
	s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
	if v < 0 && strings.Trim(s, "0.") != "" {
		return "−" + s
	}
	return s
}

func signed(v float64, decimals int) string {
	s := number(v, decimals)
	if s != missing && !strings.HasPrefix(s, "−") && strings.Trim(s, "0.") != "" {
		return "+" + s
	}
	return s
}

// Each of these comes as a bare number and as its unit, so that a table can name the unit once.

func (s show) Flow(si float64) string         { return figure(s.sys.Flow(), si) }
func (s show) FlowUnit() string               { return s.sys.Flow().Unit }
func (s show) Torque(si float64) string       { return figure(s.sys.Torque(), si) }
func (s show) TorqueUnit() string             { return s.sys.Torque().Unit }
func (s show) Power(kw float64) string        { return figure(s.sys.Power(), kw*1e3) }
func (s show) PowerUnit() string              { return s.sys.Power().Unit }
func (s show) Area(si float64) string         { return figure(s.sys.Area(), si) }
func (s show) AreaUnit() string               { return s.sys.Area().Unit }
func (s show) Length(si float64) string       { return figure(s.sys.Length(), si) }
func (s show) LengthUnit() string             { return s.sys.Length().Unit }
func (s show) TestPressure(si float64) string { return figure(s.sys.TestPressure(), si) }
func (s show) TestPressureUnit() string       { return s.sys.TestPressure().Unit }

func (s show) Mass(si float64) string { return figure(s.sys.Mass(), si) }
func (s show) MassUnit() string       { return s.sys.Mass().Unit }

// MassFlow is the air an engine asks for.
func (s show) MassFlow(si float64) string { return figure(s.sys.MassFlow(), si) }
func (s show) MassFlowUnit() string       { return s.sys.MassFlow().Unit }

func (s show) SignedTorque(si float64) string {
	return signed(s.sys.Torque().Value(si), s.sys.Torque().Decimals)
}

func (s show) SignedPower(kw float64) string {
	return signed(s.sys.Power().Value(kw*1e3), s.sys.Power().Decimals)
}

// FlowPM is the half-width of an interval given as lower and upper end.
func (s show) FlowPM(half float64) string { return figure(s.sys.Flow(), half) }

func (s show) Barometer(si float64) string   { return s.sys.Barometer().Show(si) }
func (s show) Temperature(si float64) string { return s.sys.Temperature().Show(si) }
func (s show) Volume(si float64) string      { return s.sys.Volume().Show(si) }

// Like is an example to type, in the reader's units.
func (s show) Like(us, metric string) string { return like(s, us, metric) }

func (s show) Density(si float64) string {
	d := s.sys.Density()
	d.Decimals-- // a whole sitting's
	return d.Show(si)
}

// words are the helpers of the templates for readers of sys. They write; they do not compute.
func words(a *assets, sys unit.System) template.FuncMap {
	return template.FuncMap{
		"asset":    a.url,
		"told":     sys.Text,
		"pct":      func(x float64) string { return number(100*x, 1) + " %" },
		"pct2":     func(x float64) string { return number(100*x, 2) + " %" },
		"spct":     func(x float64) string { return signed(100*x, 1) + " %" },
		"change":   func(ratio float64) string { return signed(100*(ratio-1), 1) + " %" },
		"num":      func(decimals int, x float64) string { return number(x, decimals) },
		"signed":   func(decimals int, x float64) string { return signed(x, decimals) },
		"sig":      significant,
		"dof":      dof,
		"date":     date,
		"stamp":    stamp,
		"within":   within,
		"typed":    typed,
		"day":      func(t time.Time) string { return isoTime(t, "2006-01-02") },
		"sentence": sentence,
		"capital":  capital,
		"mark":     markOf,
		"bar":      bar,
		"hundred":  func(x float64) float64 { return 100 * x },
		"pair":     func(page, item any) pair { return pair{page, item} },
	}
}

// A pair hands a fragment its page and its own item.
type pair struct{ Page, Item any }

// significant writes a number of unknown size with three figures.
func significant(x float64) string {
	switch {
	case math.IsNaN(x) || math.IsInf(x, 0):
		return missing
	case x == 0:
		return "0"
	}
	mag := int(math.Floor(math.Log10(math.Abs(x))))
	if mag >= 6 || mag < -4 {
		mant := x / math.Pow(10, float64(mag))
		return number(mant, 2) + "·10" + superscript(mag)
	}
	return number(x, max(0, 2-mag))
}

func superscript(n int) string {
	digits := strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
	return digits.Replace(strconv.Itoa(n))
}

// dof writes degrees of freedom; -1 stands for very many.
func dof(v float64) string {
	if v < 0 || v > 1e4 || math.IsInf(v, 0) {
		return "∞"
	}
	return number(v, 0)
}

func date(t time.Time) string  { return isoTime(t, "2 January 2006") }
func stamp(t time.Time) string { return isoTime(t, "2 Jan 2006, 15:04") }

// typed writes a value as it was typed, with the minus sign of the other figures.
func typed(s string) string {
	if rest, ok := strings.CutPrefix(strings.TrimSpace(s), "-"); ok {
		return "−" + rest
	}
	return s
}

// within writes a time of a spell that began at a known one: its day only where it is another.
func within(spell, t time.Time) string {
	if isoTime(spell, time.DateOnly) != isoTime(t, time.DateOnly) {
		return stamp(t)
	}
	return isoTime(t, "15:04")
}

func isoTime(t time.Time, layout string) string {
	if t.IsZero() {
		return missing
	}
	return t.Format(layout)
}

// sentence begins with a capital and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	if first, _, _ := strings.Cut(s, ":"); !strings.Contains(strings.TrimRight(first, "."), ".") || strings.Contains(first, " ") {
		s = capital(s) // the name of a file stays as it is
	}
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "?") && !strings.HasSuffix(s, "!") {
		s += "."
	}
	return s
}

func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// A mark is the glyph and the class that go with a verdict's word.
type mark struct{ Glyph, Class string }

func markOf(word string) mark {
	switch {
	case strings.HasPrefix(word, "proven gain"):
		return mark{"gain", "is-gain"}
	case strings.HasPrefix(word, "proven loss"):
		return mark{"loss", "is-loss"}
	case strings.HasPrefix(word, "the same"):
		return mark{"same", "is-same"}
	case strings.HasPrefix(word, "not comparable"):
		return mark{"refused", "is-refused"}
	}
	return mark{"open", "is-open"}
}

// bar draws a share [-] as a bar beside its number.
func bar(share float64) template.HTML {
	if math.IsNaN(share) {
		share = 0
	}
	w := 100 * min(max(share, 0), 1)
	return template.HTML(fmt.Sprintf( //nolint:gosec // a number between fixed strings
		`<svg class="bar" viewBox="0 0 100 6" preserveAspectRatio="none" aria-hidden="true"><rect class="bar-bed" width="100" height="6"/><rect class="bar-part" width="%.1f" height="6"/></svg>`, w))
}
