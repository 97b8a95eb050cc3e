package unit

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Reasons why a typed quantity was not understood. The text of the error says what to write.
var (
	ErrNoUnit    = errors.New("no unit")
	ErrWrongUnit = errors.New("unit does not fit")
	ErrNumber    = errors.New("not a number")
)

// A ParseError is a typed quantity that was not understood.
type ParseError struct {
	Dimension string // what was wanted, "pressure"
	Text      string // what was typed
	Advice    string // what to write instead
	Reason    error  // ErrNoUnit, ErrWrongUnit or ErrNumber
}

func (e *ParseError) Error() string { return fmt.Sprintf("%s %q %s", e.Dimension, e.Text, e.Advice) }

// Unwrap returns the reason.
func (e *ParseError) Unwrap() error { return e.Reason }

func tagOf(d Dimension) string { return strings.ReplaceAll(d.Name, " ", "_") }

var (
	numberUnit = regexp.MustCompile(`^\s*([+-]?)((?:\d+\s+)?\d+/\d+|(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$`)
	commaLike  = regexp.MustCompile(`^\s*[+-]?\d+,\d+`)
)

// Parse reads a quantity with its unit and returns it in SI: "28 inH2O", "1 3/4 in", "2.02in", "50%".
// The error says what was found and what to write.
func (d Dimension) Parse(s string) (float64, error) {
	if commaLike.MatchString(s) {
		return 0, &ParseError{d.Name, s, fmt.Sprintf("has a comma: write it with a point, as %q", strings.Replace(s, ",", ".", 1)), ErrNumber}
	}
	m := numberUnit.FindStringSubmatch(s)
	if m == nil {
		return 0, &ParseError{d.Name, s, fmt.Sprintf("is not a number with a unit: write it like %q", d.example("1")), ErrNumber}
	}
	v, err := number(m[2])
	if err != nil {
		return 0, &ParseError{d.Name, s, err.Error(), ErrNumber}
	}
	if m[1] == "-" {
		v = -v
	}
	if m[3] == "" && d.SI().Name != "" {
		return 0, &ParseError{d.Name, s, fmt.Sprintf("has no unit: write it as %q", d.example(strings.TrimSpace(s))), ErrNoUnit}
	}
	u, ok := d.Lookup(m[3])
	if !ok {
		return 0, &ParseError{d.Name, s, fmt.Sprintf("has unit %q, which is no unit of %s: use one of %s", m[3], d.Name, strings.Join(d.written(), ", ")), ErrWrongUnit}
	}
	si := u.ToSI(v)
	if math.IsInf(si, 0) {
		return 0, &ParseError{d.Name, s, "is too large", ErrNumber}
	}
	return si, nil
}

func (d Dimension) example(number string) string {
	return strings.TrimSpace(number + " " + d.SI().Name)
}

func (d Dimension) written() []string {
	var names []string
	for _, u := range d.Units {
		if u.Name != "" {
			names = append(names, u.Name)
		}
	}
	return names
}

func number(s string) (float64, error) {
	whole := 0.0
	if before, after, found := strings.Cut(strings.TrimSpace(s), " "); found {
		w, err := strconv.ParseFloat(before, 64)
		if err != nil {
			return 0, errors.New("is not a number")
		}
		whole, s = w, strings.TrimSpace(after)
	}
	if num, den, found := strings.Cut(s, "/"); found {
		n, err1 := strconv.ParseFloat(num, 64)
		q, err2 := strconv.ParseFloat(den, 64)
		if err1 != nil || err2 != nil || q == 0 {
			return 0, errors.New("has a fraction that cannot be read")
		}
		return whole + n/q, nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, errors.New("is not a number that can be held")
	}
	return v, nil
}

// Column reads the unit off the end of a column or key name, "test_dp_inh2o" → "test_dp", inH2O, Pressure.
// The longest suffix wins; the error says how a column name is written.
func Column(name string) (stem string, u Unit, d Dimension, err error) {
	best := -1
	for _, dim := range All() {
		for _, cand := range dim.Units {
			if dim.Name == TemperatureSpan.Name || !strings.HasSuffix(name, "_"+cand.Suffix) || len(cand.Suffix) <= best {
				continue
			}
			best, u, d = len(cand.Suffix), cand, dim
		}
	}
	if best < 0 || len(name) <= best+1 {
		return "", Unit{}, Dimension{}, fmt.Errorf("column %q has no unit at its end: write %s", name, columnLike(name))
	}
	return name[:len(name)-best-1], u, d, nil
}

// columnLike says how a column that has no unit at its end is written.
func columnLike(name string) string {
	if lower := strings.ToLower(name); lower != name {
		if _, _, _, err := Column(lower); err == nil {
			return fmt.Sprintf("it in small letters, %q", lower)
		}
	}
	if strings.ContainsFunc(name, func(r rune) bool { return r != '_' && (r < 'a' || r > 'z') && (r < '0' || r > '9') }) {
		return `a name in small letters and its unit, like "time_s" or "meter_dp_pa"`
	}
	return fmt.Sprintf("it like %q or %q", name+"_pa", name+"_c")
}
