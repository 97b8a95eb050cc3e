package unit

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"
)

// figures is one number, or several before one unit: "12", "610 to 580", "40 × 30", "x 1, y 2, z 3".
const figures = `[-−]?\d+(?:\.\d+)?(?:(?: to |–| × |, [xyz] )[-−]?\d+(?:\.\d+)?)*`

var (
	quantity = regexp.MustCompile(`(` + figures + `)([ \x{00a0}])(mm²|cm²|cm³|mm|cm|µm|hPa|kPa|Pa|bar|°C|L/s|L|m³/s|kg/s|kg/h|g/s|m/s|N·m|kW|kg|g)`)
	oneOf    = regexp.MustCompile(`[-−]?\d+(?:\.\d+)?`)
	quoted   = regexp.MustCompile(`"[^"]*"|“[^”]*”`)
	// A limit that was left, whose unit stands in brackets before the value that was got.
	gotIn = regexp.MustCompile(` \[([^\]\s]+)\] \(got ([-−]?\d+(?:\.\d+)?)\)$`)
)

// Text returns a sentence of the engineering with its quantities in the units of s. The engineering writes in metric
// units, as a number, a space and the unit: "At 40 mm the wall is 2.4 mm". Where a sentence is shown to people it goes
// through here; in JSON it stays as it was written. Two things are left alone: what stands in quotes, because it
// is somebody's own words or an example to type, and a limit that was left, "bore d at least 12.5 mm (got 11)", because
// a standard is quoted in its own unit, unless the limit names the unit of the value got in brackets: "[Pa] (got 6500)".
func (s System) Text(text string) string {
	if s == Metric {
		return text
	}
	if m := gotIn.FindStringSubmatch(text); m != nil {
		return s.turnQuantities(strings.TrimSuffix(text, m[0])) + " (got " + s.turnQuantities(m[2]+" "+m[1]) + ")"
	}
	if strings.Contains(text, "(got ") {
		return text
	}
	var b strings.Builder
	from := 0
	for _, q := range quoted.FindAllStringIndex(text, -1) {
		b.WriteString(s.turnQuantities(text[from:q[0]]))
		b.WriteString(text[q[0]:q[1]])
		from = q[1]
	}
	b.WriteString(s.turnQuantities(text[from:]))
	return b.String()
}

// Texts returns sentences as Text does, each by itself, as a limit is told by its end.
func (s System) Texts(texts []string) []string {
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = s.Text(t)
	}
	return out
}

// turnQuantities turns every quantity of a text.
func (s System) turnQuantities(text string) string {
	var b strings.Builder
	from := 0
	for _, m := range quantity.FindAllStringSubmatchIndex(text, -1) {
		if partOfWord(text, m[0], m[1]) {
			continue
		}
		b.WriteString(text[from:m[0]])
		name := ""
		b.WriteString(oneOf.ReplaceAllStringFunc(text[m[2]:m[3]], func(number string) string {
			turned, in := s.turn(number, text[m[6]:m[7]])
			name = in
			return turned
		}))
		b.WriteString(text[m[4]:m[5]] + name)
		from = m[1]
	}
	b.WriteString(text[from:])
	return b.String()
}

// partOfWord reports whether text[from:to] is only a piece of something longer, as in "M8-12 mm" or "5 mm/s".
func partOfWord(text string, from, to int) bool {
	before, _ := utf8.DecodeLastRuneInString(text[:from])
	after, _ := utf8.DecodeRuneInString(text[to:])
	word := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsNumber(r) }
	return from > 0 && (word(before) || strings.ContainsRune("._=+-/", before)) || to < len(text) && (word(after) || strings.ContainsRune("/·^_", after))
}

// turn writes a number in the named metric unit in the reader's unit, with as many figures as the number had to give.
func (s System) turn(number, name string) (turned, in string) {
	v, err := strconv.ParseFloat(strings.Replace(number, "−", "-", 1), 64)
	if err != nil {
		return number, name
	}
	style, u := s.styleOf(name, v)
	si := u.ToSI(v)
	_, fraction, _ := strings.Cut(number, ".")
	step := math.Pow10(-len(fraction)) * u.Factor / style.factor()
	full := max(0, int(math.Ceil(-math.Log10(step)-1e-9))) // decimals that lose nothing
	decimals := min(full, style.Decimals)
	out := style.Value(si)
	if math.Abs(out) < 10*math.Pow10(-decimals) { // fewer than two figures would be left
		decimals = full
	}
	turned = strconv.FormatFloat(out, 'f', decimals, 64)
	if strings.HasPrefix(number, "−") {
		turned = strings.Replace(turned, "-", "−", 1)
	}
	return turned, style.Unit
}

// styleOf is how the reader writes a quantity that the engineering writes as v in the named unit.
func (s System) styleOf(name string, v float64) (Style, Unit) {
	for _, st := range []Style{s.Length(), s.Area(), s.Volume(), s.TestPressure(), s.Temperature(), s.Flow(), s.MassFlow(), s.Velocity(), s.Torque(), s.Power(), s.Mass()} {
		u, ok := st.Dimension.Lookup(name)
		switch {
		case !ok:
			continue
		case name == "bar": // as mean effective pressures are written
			return s.MeanPressure(), u
		case name == "hPa" || st.Dimension.Name == Pressure.Name && u.ToSI(v) > 5e4: // the air's own pressure
			return s.Barometer(), u
		}
		return st, u
	}
	panic("unit: no style for " + name) // the pattern lists only units that have one
}

func (s Style) factor() float64 {
	u, _ := s.Dimension.Lookup(s.Unit)
	return u.Factor
}
