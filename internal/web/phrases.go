package web

import (
	"strings"
	"unicode"

	"runnel/assess"
)

// At says in words what flows are stated at.
func (s show) At(r assess.Reference) string {
	humid := "dry"
	if r.Humidity > 0 {
		humid = number(100*r.Humidity, 0) + " % humid"
	}
	return s.TestPressure(r.TestPressure) + " " + s.TestPressureUnit() + ", air of " + s.Temperature(r.Temperature) + ", " +
		s.Barometer(r.Pressure) + ", " + humid
}

// Says is a verdict over all openings as a sentence.
func (n names) Says(v assess.Verdict) string {
	to, from := n.Round(v.To), inSentence(n.Round(v.From))
	change := number(100*abs(v.Ratio-1), 1) + " %"
	switch {
	case v.Refused != "":
		return to + " cannot be compared with " + from + "."
	case strings.HasPrefix(v.Word, "proven gain"):
		return to + ": " + change + " more flow than " + from + "."
	case strings.HasPrefix(v.Word, "proven loss"):
		return to + ": " + change + " less flow than " + from + "."
	case strings.HasPrefix(v.Word, "the same"):
		return to + " flows the same as " + from + strings.TrimPrefix(v.Word, "the same") + "."
	}
	return to + ": no proven change against " + from + "."
}

// Interval is the 95 % interval of a verdict in words.
func (n names) Interval(v assess.Verdict) string {
	return signed(100*(v.Lo95-1), 1) + " to " + signed(100*(v.Hi95-1), 1) + " %"
}

// Setup is how the two sides of a verdict were set up, in words.
func (n names) Setup(v assess.Verdict) string {
	from, to := n.Entry(v.FromRig), n.Entry(v.ToRig)
	if from == to {
		return to
	}
	return from + " against " + to
}

func abs(x float64) float64 { return max(x, -x) }

// inSentence puts a title into the middle of a sentence: its capital goes unless it is a name or an abbreviation.
func inSentence(s string) string {
	r := []rune(s)
	if len(r) > 1 && unicode.IsUpper(r[0]) && unicode.IsLower(r[1]) {
		r[0] = unicode.ToLower(r[0])
	}
	return string(r)
}
