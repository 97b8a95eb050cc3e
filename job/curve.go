package job

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"time"
)

// MostCoefficients is how many coefficients a curve of a calibration may have: a cubic.
const MostCoefficients = 4

// CalibrationLife returns the longest time to the next calibration [s]: every [s] as it was written, or a year where that is 0, not said; common
// practice, no source.
func CalibrationLife(every float64) float64 {
	if every == 0 {
		return 365 * 86400
	}
	return every
}

// A Curve is the outcome of a calibration as a bench card carries it: the flow that known plates pass over the flow that the
// bench reads, a polynomial in the flow read. "runnel calibrate FILE --card ID" writes one.
type Curve struct {
	ID           string    `toml:"id" need:"yes" id:"calibrations"`
	Title        string    `toml:"title"`
	At           time.Time `toml:"at" need:"yes"`                // day it was made
	Every        float64   `toml:"recalibrate_every" dim:"time"` // longest time to the next one [s]; 0: a year
	From         float64   `toml:"from" need:"yes" dim:"flow"`   // lowest flow read that it rests on [m³/s]
	To           float64   `toml:"to" need:"yes" dim:"flow"`     // highest flow read that it rests on [m³/s]
	Coefficients []float64 `toml:"coefficients_si" need:"yes"`   // c0, c1, c2 …: known = c0 + c1·read + c2·read² …, flows in m³/s [SI]
	Covariance   []float64 `toml:"covariance_si" need:"yes"`     // of the coefficients, the rows of its lower triangle one after another: c0c0, c1c0, c1c1, c2c0 … [SI]
	Dof          float64   `toml:"dof"`                          // degrees of freedom of the covariance [-]; 0: very many
}

// Known returns the known flow [m³/s] for a flow read [m³/s]. Definition.
func (c Curve) Known(read float64) float64 {
	sum := 0.0
	for _, b := range slices.Backward(c.Coefficients) {
		sum = sum*read + b
	}
	return sum
}

// Half returns the lower triangle L of the covariance V = L·Lᵀ of the coefficients, by rows, each of them full. Where a
// coefficient has no variance of its own its column is empty. ok is false when V is no covariance.
//
// Source: Cholesky decomposition (textbook).
func (c Curve) Half() (l [][]float64, ok bool) {
	n := len(c.Coefficients)
	if len(c.Covariance) != n*(n+1)/2 {
		return nil, false
	}
	at := func(i, j int) float64 { return c.Covariance[i*(i+1)/2+j] }
	l = make([][]float64, n)
	for i := range l {
		l[i] = make([]float64, n)
		if !(at(i, i) >= 0) {
			return nil, false
		}
	}
	// What is left of a variance after rounding counts as none.
	const tiny = 1e-12
	for j := range n {
		rest := at(j, j)
		for k := range j {
			rest -= l[j][k] * l[j][k]
		}
		if rest < -1e-6*at(j, j) {
			return nil, false
		}
		if rest <= tiny*at(j, j) {
			continue
		}
		l[j][j] = math.Sqrt(rest)
		for i := j + 1; i < n; i++ {
			sum := at(i, j)
			for k := range j {
				sum -= l[i][k] * l[j][k]
			}
			l[i][j] = sum / l[j][j]
		}
	}
	return l, true
}

// Card writes the curve as it stands in a bench.toml.
func (c Curve) Card() ([]byte, error) {
	bench := struct {
		Calibrations []Curve `toml:"calibrations"`
	}{[]Curve{c}}
	out, err := encode(&bench)
	return bytes.TrimLeft(out, "\n"), err
}

func (c *checker) curve(i int) {
	k, at := &c.job.Bench.Calibrations[i], fmt.Sprintf("calibrations[%d]", i)
	const anew = `run "runnel calibrate FILE --card NAME" and put in what it writes`
	if len(k.Coefficients) < 2 || len(k.Coefficients) > MostCoefficients {
		c.add(benchFile, at+".coefficients_si", fmt.Sprintf("%d coefficients make no curve: two to four do", len(k.Coefficients)), anew)
		return
	}
	if n := len(k.Coefficients); len(k.Covariance) != n*(n+1)/2 {
		c.add(benchFile, at+".covariance_si", fmt.Sprintf("%d values are no lower triangle of %d coefficients, which has %d", len(k.Covariance), n, n*(n+1)/2), anew)
	} else if _, ok := k.Half(); !ok {
		c.add(benchFile, at+".covariance_si", "these values are no covariance: a variance is negative, or a correlation more than 1", anew)
	}
	c.notNegative(benchFile, at+".recalibrate_every", "recalibrate_every", k.Every)
	c.notNegative(benchFile, at+".dof", "dof", k.Dof)
	if !(k.From >= 0 && k.From < k.To) {
		c.add(benchFile, at+".from", "the range of the calibration does not rise from its lower end", "write the lowest and the highest flow read in it")
		return
	}
	for _, read := range []float64{k.From, (k.From + k.To) / 2, k.To} {
		if known := k.Known(read); read > 0 && !(known > read/2 && known < 2*read) {
			c.add(benchFile, at+".coefficients_si", fmt.Sprintf("the curve makes %.4g m³/s of %.4g m³/s read", known, read), anew)
			return
		}
	}
}
