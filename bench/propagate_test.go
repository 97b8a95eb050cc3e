package bench_test

import (
	"errors"
	"testing"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

// The correction of an ordinary reading is nearly linear over its uncertainties, so that drawing the inputs must give the
// first-order budget: u within 1 % (the deviation of 1e5 draws is known to 0.2 %), the interval within the tolerance of
// JCGM 101:2008, 8.2 for one digit. The same seed gives the same answer, another seed another.
func TestPropagateAgreesWithTheBudget(t *testing.T) {
	const area, drop = 9e-4, 28 * unit.InH2O
	w := truth{meter: plate(), air: air(), area: area}
	traces := map[string]job.Trace{"t": trace(seeded(3), "meter_dp", w.reading(t, drop, 2e4), drop)}
	r := job.Reading{ID: "r", Rig: "rig", Opening: "1", At: minutes(30), Trace: "t"}
	sit := sitting(t, benchCard(), sittingCard(), nil)
	first, err := sit.Read(r, rigCard(), traces, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	draw := func(seed uint64) bench.Drawn {
		t.Helper()
		d, err := sit.Propagate(seeded(seed), r, rigCard(), traces, measure.PropagateOptions{Draws: 100_000, Digits: 1})
		if err != nil {
			t.Fatal(err)
		}
		return d
	}
	d := draw(1)
	near(t, "mean", d.Mean, first.EffectiveArea, 1e-4, 0)
	near(t, "u", d.U, first.Budget.Combined(), 0.01, 0)
	if !d.Agreement.Agrees {
		t.Errorf("they disagree: %s", d.Agreement.Note)
	}
	if again := draw(1); again.Mean != d.Mean || again.Lo != d.Lo {
		t.Error("the same seed gave another answer")
	}
	if other := draw(2); other.Mean == d.Mean {
		t.Error("another seed gave the same answer")
	}
	if _, err := sit.Propagate(seeded(1), job.Reading{ID: "v", Void: "slipped"}, rigCard(), traces, measure.PropagateOptions{}); err == nil {
		t.Error("a void reading was drawn")
	} else if _, ok := errors.AsType[*bench.Refused](err); !ok {
		t.Errorf("%T: %v", err, err)
	}
}

// A draw through the whole correction allocates nothing: ten thousand more draws cost the same few allocations, for every
// station of the meter.
func TestPropagateAllocatesNothingPerDraw(t *testing.T) {
	for _, station := range []string{"downstream", "upstream"} {
		card := benchCard()
		card.Meters[0].Station = station
		sit, r, traces := drawing(t, card)
		cost := func(draws int) float64 {
			return testing.AllocsPerRun(3, func() {
				if _, err := sit.Propagate(seeded(1), r, rigCard(), traces, measure.PropagateOptions{Draws: draws}); err != nil {
					t.Error(err)
				}
			})
		}
		if few, many := cost(1000), cost(11_000); many > few+10 {
			t.Errorf("meter %s: %v allocations for 1000 draws, %v for 11 000", station, few, many)
		}
	}
}

// drawing returns a reading by trace and the sitting that corrects it.
func drawing(tb testing.TB, card job.Bench) (*bench.Sitting, job.Reading, map[string]job.Trace) {
	tb.Helper()
	const drop = 28 * unit.InH2O
	w := truth{meter: plate(), air: air(), area: 9e-4}
	traces := map[string]job.Trace{"t": trace(seeded(3), "meter_dp", w.reading(tb, drop, 2e4), drop)}
	r := job.Reading{ID: "r", Rig: "rig", Opening: "1", At: minutes(30), Trace: "t"}
	return sitting(tb, card, sittingCard(), nil), r, traces
}

// BenchmarkPropagate draws a whole reading 200 000 times, as "runnel budget --draws 200000" does. It should take under half a
// second on one core.
func BenchmarkPropagate(b *testing.B) {
	sit, r, traces := drawing(b, benchCard())
	b.ReportAllocs()
	for b.Loop() {
		if _, err := sit.Propagate(seeded(1), r, rigCard(), traces, measure.PropagateOptions{}); err != nil {
			b.Fatal(err)
		}
	}
}

// What was found by statistics is drawn from the t distribution of its degrees of freedom (JCGM 101:2008, 6.4.9.2): settling of flow and
// test pressure, and they stay correlated.
func TestSettlingIsDrawnAsT(t *testing.T) {
	sit, r, traces := drawing(t, benchCard())
	got, err := sit.Read(r, rigCard(), traces, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, l := range got.Budget.Lines {
		if l.Kind == measure.TypeA {
			n++
			if l.Distribution != measure.StudentT || l.Dof <= 0 {
				t.Errorf("%s is drawn as %s of %v degrees of freedom", l.Quantity, l.Distribution, l.Dof)
			}
		} else if l.Distribution == measure.StudentT {
			t.Errorf("%s, which no statistics found, is drawn as t", l.Quantity)
		}
	}
	if n != 2 {
		t.Errorf("%d lines of type A", n)
	}
}
