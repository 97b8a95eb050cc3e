// Package metertest is the contract of a meter as a test that every kind runs.
package metertest

import (
	"errors"
	"math"
	"reflect"
	"sync"
	"testing"

	"pgregory.net/rapid"

	"runnel/gas"
	"runnel/meter"
)

// A Case is a meter with the readings it can take.
type Case struct {
	Meter  meter.Meter
	Up     meter.Upstream // gas before it
	Low    float64        // lowest reading [unit of the meter's reading]
	High   float64        // highest reading [unit of the meter's reading]
	Choked bool           // it passes the same at every reading
	Signal bool           // its flow does not depend on the gas
}

// Run checks that a meter keeps the contract of meter.Meter.
func Run(t *testing.T, c Case) {
	t.Helper()
	t.Run("zero", c.zero)
	t.Run("monotone", func(t *testing.T) { rapid.Check(t, c.monotone) })
	t.Run("uncertainty", func(t *testing.T) { rapid.Check(t, c.uncertainty) })
	t.Run("bare", func(t *testing.T) { rapid.Check(t, c.bare) })
	t.Run("nothing allocated", c.lean)
	t.Run("scaling", func(t *testing.T) { rapid.Check(t, c.scaling) })
	t.Run("refuses", c.refuses)
	t.Run("pure", c.pure)
}

// zero: nothing shown is no flow.
func (c Case) zero(t *testing.T) {
	if c.Choked || c.Low > 0 {
		t.Skip("this meter has no zero")
	}
	f, err := c.Meter.Flow(c.Up, 0)
	if err != nil || f.Mass != 0 {
		t.Errorf("flow at zero = %v, %v; want none", f.Mass, err)
	}
}

// monotone: more shown is more flow.
func (c Case) monotone(t *rapid.T) {
	a := rapid.Float64Range(c.Low, c.High).Draw(t, "a")
	b := rapid.Float64Range(c.Low, c.High).Draw(t, "b")
	a, b = min(a, b), max(a, b)
	fa, errA := c.Meter.Flow(c.Up, a)
	fb, errB := c.Meter.Flow(c.Up, b)
	if errA != nil || errB != nil {
		t.Fatalf("readings %v and %v: %v, %v", a, b, errA, errB)
	}
	if fa.Mass > fb.Mass*(1+1e-13) {
		t.Fatalf("reading %v gives %v kg/s, and the higher %v gives %v", a, fa.Mass, b, fb.Mass)
	}
	if !c.Choked && b > a*(1+1e-6)+1e-6*c.High && !(fb.Mass > fa.Mass) {
		t.Fatalf("readings %v and %v give the same flow", a, b)
	}
}

// uncertainty: the whole is the root sum of squares of its parts, and a sure meter does not exist.
func (c Case) uncertainty(t *rapid.T) {
	reading := rapid.Float64Range(c.Low, c.High).Draw(t, "reading")
	f, err := c.Meter.Flow(c.Up, reading)
	if err != nil {
		t.Fatal(err)
	}
	sum := 0.0
	for _, p := range f.Parts {
		if p.Name == "" || p.URel < 0 || p.URel >= 1 {
			t.Fatalf("part %+v", p)
		}
		sum = math.Hypot(sum, p.URel*p.Sensitivity)
	}
	if f.URel <= 0 || math.Abs(f.URel-sum) > 1e-12*sum {
		t.Fatalf("relative standard uncertainty %v, and %v of its parts", f.URel, sum)
	}
	if f.Mass > 0 && !(f.Coefficient > 0 && f.Expansibility > 0 && f.Expansibility <= 1+1e-12) {
		t.Fatalf("coefficient %v, expansibility %v", f.Coefficient, f.Expansibility)
	}
	if f.Loss < 0 || (c.Meter.Reads() == meter.Difference && !(f.Loss <= reading)) {
		t.Fatalf("permanent loss %v at a reading of %v", f.Loss, reading)
	}
	if len(f.Warnings) == 0 && f.Coefficient > 1 {
		t.Fatalf("coefficient %v without a warning", f.Coefficient)
	}
}

// bare: leaving out uncertainty and warnings changes no number, whatever the gas.
func (c Case) bare(t *rapid.T) {
	up := c.Up
	for _, x := range []*float64{&up.Pressure, &up.Density, &up.Viscosity} {
		*x *= rapid.Float64Range(0.97, 1.03).Draw(t, "change of the gas")
	}
	reading := rapid.Float64Range(c.Low, c.High).Draw(t, "reading")
	full, err := c.Meter.Flow(up, reading)
	if err != nil {
		t.Fatal(err)
	}
	bare, err := c.Meter.Bare(up, reading)
	if err != nil {
		t.Fatal(err)
	}
	if bare.URel != 0 || bare.Parts != nil || bare.Warnings != nil {
		t.Fatalf("not bare: %+v", bare)
	}
	for _, x := range [][2]float64{
		{bare.Mass, full.Mass}, {bare.Coefficient, full.Coefficient}, {bare.Expansibility, full.Expansibility}, {bare.Reynolds, full.Reynolds}, {bare.Loss, full.Loss},
	} {
		if !(math.Abs(x[0]-x[1]) <= 1e-12*math.Abs(x[1])) && !(math.IsNaN(x[0]) && math.IsNaN(x[1])) {
			t.Fatalf("bare %+v, and in full %+v", bare, full)
		}
	}
}

// lean: a draw costs no memory.
func (c Case) lean(t *testing.T) {
	var err error
	allocs := testing.AllocsPerRun(100, func() { _, err = c.Meter.Bare(c.Up, c.High) })
	if err != nil {
		t.Fatal(err)
	}
	if allocs != 0 {
		t.Errorf("%v allocations, want none", allocs)
	}
}

// scaling: the unit of mass is our own choice. In a unit k times smaller the numbers of pressure, density, viscosity and
// mass flow are all k times larger, and nothing else changes.
func (c Case) scaling(t *rapid.T) {
	if c.Signal || c.Meter.Reads() != meter.Difference {
		return
	}
	dp := rapid.Float64Range(c.Low, c.High).Draw(t, "dp")
	k := rapid.Float64Range(0.2, 5).Draw(t, "k")
	up := c.Up
	up.Pressure, up.Density, up.Viscosity = k*up.Pressure, k*up.Density, k*up.Viscosity
	f, err := c.Meter.Flow(c.Up, dp)
	g, errK := c.Meter.Flow(up, k*dp)
	if err != nil || errK != nil {
		t.Fatal(err, errK)
	}
	if math.Abs(g.Mass-k*f.Mass) > 1e-9*k*f.Mass {
		t.Fatalf("mass flow %v, and %v in a unit of mass %v times smaller", f.Mass, g.Mass, k)
	}
}

// refuses: what cannot be read is an input error, never a number.
func (c Case) refuses(t *testing.T) {
	for _, reading := range []float64{-1, math.NaN(), math.Inf(1), math.Inf(-1)} {
		f, err := c.Meter.Flow(c.Up, reading)
		if _, ok := errors.AsType[*gas.InputError](err); !ok || f.Mass != 0 {
			t.Errorf("reading %v: flow %v, error %v; want an input error", reading, f.Mass, err)
		}
		if _, bare := c.Meter.Bare(c.Up, reading); bare == nil || err == nil || bare.Error() != err.Error() {
			t.Errorf("reading %v: error %v bare, and %v in full", reading, bare, err)
		}
	}
	for _, spoil := range []func(*meter.Upstream){
		func(u *meter.Upstream) { u.Pressure = 0 },
		func(u *meter.Upstream) { u.Density = math.NaN() },
		func(u *meter.Upstream) { u.Viscosity = -1 },
		func(u *meter.Upstream) { u.Kappa = 1 },
		func(u *meter.Upstream) { u.Temperature = math.Inf(1) },
	} {
		up := c.Up
		spoil(&up)
		_, err := c.Meter.Flow(up, c.High)
		if _, ok := errors.AsType[*gas.InputError](err); !ok {
			t.Errorf("upstream %+v: error %v, want an input error", up, err)
		}
	}
}

// pure: the same question has the same answer, from many goroutines at once.
func (c Case) pure(t *testing.T) {
	want, err := c.Meter.Flow(c.Up, c.High)
	if err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			for range 50 {
				if got, err := c.Meter.Flow(c.Up, c.High); err != nil || !same(got, want) {
					t.Errorf("flow %+v, %v; want %+v", got, err, want)
					return
				}
			}
		})
	}
	wg.Wait()
}

// same compares two flows; a loss that is not known equals itself.
func same(a, b meter.Flow) bool {
	if math.IsNaN(a.Loss) && math.IsNaN(b.Loss) {
		a.Loss, b.Loss = 0, 0
	}
	return reflect.DeepEqual(a, b)
}
