package gas

import (
	"math"
	"strconv"
)

// A Warning is a limit of validity that a result lies outside. It does not stop the computation; it must be shown
// wherever the result is shown.
type Warning struct {
	Limit string  // the rule, with its clause: "ISO 5167-2:2003 5.3.1: D at least 50 mm"
	Got   float64 // the offending value, in the unit of Limit
}

// String returns the limit and the value that left it.
func (w Warning) String() string {
	return w.Limit + " (got " + strconv.FormatFloat(w.Got, 'g', 5, 64) + ")"
}

// An InputError is a quantity that cannot be true, with what to change.
type InputError struct {
	Quantity string  // what it is: "relative humidity"
	Got      float64 // what was given, in Unit
	Unit     string  // unit of Got; empty when dimensionless
	Want     string  // what is wanted instead
}

func (e *InputError) Error() string {
	got := strconv.FormatFloat(e.Got, 'g', 6, 64)
	if e.Unit != "" {
		got += " " + e.Unit
	}
	return e.Quantity + " " + got + ": " + e.Want
}

// finite reports whether x is neither NaN nor infinite.
func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }
