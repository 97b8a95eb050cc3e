package validation

import (
	"context"
	"math"
	"math/rand/v2"
	"time"

	"runnel/bench"
	"runnel/gas"
	"runnel/job"
	"runnel/measure"
)

// seeded returns a generator that gives the same draws in every run.
func seeded(a, b uint64) *rand.Rand {
	return rand.New(rand.NewPCG(a, b)) // every check has its own fixed seed
}

// endsOfRuns returns the R-statistic at the end of runs of 400 samples of white noise.
func endsOfRuns(f measure.RFilter, runs int) []float64 {
	rng := seeded(11, 1995)
	x, ends := make([]float64, 400), make([]float64, runs)
	var r []float64
	for i := range ends {
		for k := range x {
			x[k] = rng.NormFloat64()
		}
		r = measure.RStatistic(x, f, r)
		ends[i] = r[len(r)-1]
	}
	return ends
}

// A trial is one kind of simulated comparison: what the readings scatter by and what they share.
type trial struct {
	name          string
	before, after int     // readings
	change        float64 // true ratio of effective areas, less one
	scatter       float64 // of setting up anew, relative [-]
	settling      float64 // stated standard uncertainty of one mean, relative [-]
	plate         float64 // standard uncertainty of the plate's coefficient, which both sides share [-]
	day           float64 // standard uncertainty of what belongs to a day: leakage, zero [-]
}

func trials() []trial {
	return []trial{
		{"five readings a side", 5, 5, 0.02, 0.004, 0.001, 0.005, 0},
		{"four readings before, six after, another day", 4, 6, 0.01, 0.003, 0.001, 0.005, 0.0015},
		{"no change at all, six a side", 6, 6, 0, 0.005, 0.001, 0.005, 0},
		{"one reading a side, with its budget", 1, 1, 0.02, 0.004, 0.001, 0.005, 0.0015},
		{"three readings a side", 3, 3, 0.02, 0.004, 0.001, 0.005, 0},
		{"two readings before, five after, another day", 2, 5, 0.01, 0.003, 0.001, 0.005, 0.0015},
	}
}

// coverage simulates comparisons of readings whose truth is known, and counts how often the 95 % interval holds it.
func coverage(ctx context.Context, b *book) error {
	runs := 2000
	if b.full {
		runs = 20_000
	}
	kind := ", 2000 comparisons"
	if b.full {
		kind = ", 20 000 comparisons"
	}
	for i, t := range trials() {
		name := t.name + kind
		if !b.wants(name) {
			continue
		}
		rng := seeded(20_000, uint64(i))
		held := 0
		for k := range runs {
			if k%500 == 0 && ctx.Err() != nil {
				return ctx.Err()
			}
			v, err := bench.Compare(t.side(rng, "before", t.before, 0), t.side(rng, "after", t.after, t.change), bench.CompareOptions{})
			if err != nil {
				return err
			}
			if truth := 1 + t.change; v.Lo95 <= truth && truth <= v.Hi95 {
				held++
			}
		}
		b.compare(name, float64(held)/float64(runs), 0.95)
	}
	return nil
}

// side draws the readings of one side. The plate's error is the same on both sides and cancels, so that it need not be drawn;
// the error of the day is drawn once a side.
func (t trial) side(rng *rand.Rand, name string, n int, change float64) []bench.Reading {
	const area = 8e-4
	day := t.day * rng.NormFloat64()
	at := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	var out []bench.Reading
	for k := range n {
		id := name + string(rune('a'+k))
		a := area * (1 + change) * math.Exp(day+t.scatter*rng.NormFloat64()+t.settling*rng.NormFloat64())
		line := func(quantity, key string, kind measure.Kind, u, dof float64) measure.Line {
			return measure.Line{Quantity: quantity, Key: key, Unit: "1", Kind: kind, Distribution: measure.Normal, Estimate: 1, U: u, Dof: dof, Sensitivity: a}
		}
		lines := []measure.Line{
			line("settling", "reading/"+id+"/flow", measure.TypeA, t.settling, 20),
			line("setting up anew", "reading/"+id+"/setup", measure.TypeB, t.scatter, math.Inf(1)),
			line("coefficient", "meter/plate/C", measure.TypeB, t.plate, math.Inf(1)),
		}
		if t.day > 0 {
			lines = append(lines, line("leakage", "leakage/"+name, measure.TypeB, t.day, math.Inf(1)))
		}
		out = append(out, bench.Reading{
			ID: id, Round: name, Opening: "1", At: at, EffectiveArea: a, Rig: job.RigCard{ID: "rig", Piece: "manifold", Meter: "plate", TestPressure: 7000},
			TestPressure: 7000, Room: gas.Air{MoistAir: gas.MoistAir{Pressure: 101325, Temperature: 293.15}, Density: 1.2045},
			Budget: measure.Budget{Quantity: "effective area", Unit: "m²", Value: a, Lines: lines},
		})
	}
	return out
}
