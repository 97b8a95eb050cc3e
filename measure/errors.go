package measure

import (
	"errors"
	"fmt"
	"math"
)

// What cannot be computed. Each is wrapped by the functions that return it, with
// what was found and what was wanted; test with errors.Is.
var (
	// ErrTooFew means that there are not enough values for the question asked.
	ErrTooFew = errors.New("too few values")
	// ErrNotFinite means that a value is not a number or is infinite.
	ErrNotFinite = errors.New("value is not a finite number")
	// ErrNoScatter means that the values are equal to the last digit, so that
	// their scatter says nothing about their uncertainty.
	ErrNoScatter = errors.New("values do not differ at all")
	// ErrNotPositive means that a value that must be positive is not.
	ErrNotPositive = errors.New("value must be positive")
	// ErrFrozen means that a sensor repeated one value for the whole trace.
	ErrFrozen = errors.New("sensor is frozen: it repeats one value; see to its cable, or record it in finer steps")
	// ErrClipped means that a sensor sat at the end of its range for the whole trace.
	ErrClipped = errors.New("sensor is clipped: it sits at the end of its range; see whether its tubes are swapped, and its range and unit on the bench card")
	// ErrClock means that the times of a trace do not advance.
	ErrClock = errors.New("time does not advance")
	// ErrCorrelation means that a set of correlation coefficients cannot be one.
	ErrCorrelation = errors.New("correlations are not possible")
	// ErrUnbalanced means that a design has unequal cells where equal ones are needed.
	ErrUnbalanced = errors.New("design is not balanced")
	// ErrOutOfReach means that no number of repeats can give what was asked.
	ErrOutOfReach = errors.New("cannot be reached by repeating")
	// ErrShape means that a distribution is not one of those known, or cannot be
	// drawn from as asked.
	ErrShape = errors.New("distribution cannot be drawn from")
	// ErrRank means that a fit has more unknowns than its data can tell apart.
	ErrRank = errors.New("data cannot tell the unknowns apart")
)

// A Warning is a limit of validity that a result lies outside. It does not stop
// the calculation; it must be shown wherever the result is shown.
type Warning struct {
	Limit string  `json:"limit"` // the rule, with its source
	Got   float64 `json:"got"`   // the offending value [unit of Limit]
}

// finite returns an error that wraps ErrNotFinite and names the place of the
// first value of x that is not a finite number.
func finite(what string, x []float64) error {
	for i, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return fmt.Errorf("%s, value %d of %d is %v: %w", what, i+1, len(x), v, ErrNotFinite)
		}
	}
	return nil
}

// atLeast returns an error that wraps ErrTooFew when n is below want.
func atLeast(what string, n, want int) error {
	if n >= want {
		return nil
	}
	return fmt.Errorf("%s: found %d, at least %d are needed: %w", what, n, want, ErrTooFew)
}
