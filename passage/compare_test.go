package passage_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/passage"
)

// tapered is a round passage whose bore runs by a smooth law with features, from an offset along it.
func tapered(t testing.TB, from, grow, wall float64) *passage.Passage {
	t.Helper()
	const to = 0.25
	var st []passage.Station
	for i := range 61 {
		x := from + (to-from)*float64(i)/60
		s := round(t, x-from, 0.04+0.004*math.Cos(30*x)-0.02*x+grow)
		s.Wall = wall
		st = append(st, s)
	}
	p, err := passage.New(st)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// A bore opened by 0.6 mm in diameter everywhere: the depth is 0.3 mm, the volume the difference of the two analytic solids, its mass
// that volume of aluminium.
func TestCompareOpenedBore(t *testing.T) {
	before, after := tapered(t, 0, 0, 0.004), tapered(t, 0, 0.0006, 0)
	for _, how := range []passage.Alignment{passage.AlignBest, passage.AlignEntry, passage.AlignExit} {
		got, err := passage.Compare(before, after, how, passage.DensityAluminium)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "shift", got.Shift, 0, 1e-6)
		near(t, "removed", got.Removed/(after.Volume()-before.Volume()), 1, 1e-4)
		near(t, "added", got.Added, 0, 1e-15)
		near(t, "mass", got.Mass, 2680*got.Removed, 1e-12)
		for _, c := range got.Places {
			near(t, "depth", c.Depth, 0.0003, 1e-7)
			near(t, "wall left", c.Wall, 0.0037, 1e-7)
		}
		near(t, "volume so far, at the end", got.Places[len(got.Places)-1].Volume, got.Removed, 1e-12)
	}
}

// The same passage with 8 mm sawn off its entry and opened evenly is found to lie 8 mm further along.
func TestCompareFindsTheShift(t *testing.T) {
	before, after := tapered(t, 0, 0, 0), tapered(t, 0.008, 0.0004, 0)
	got, err := passage.Compare(before, after, passage.AlignBest, passage.DensityAluminium)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shift", got.Shift, -0.008, 2e-4)
	near(t, "shared length", got.Length, 0.242, 3e-4)
	for _, c := range got.Places {
		near(t, "depth", c.Depth, 0.0002, 3e-5)
	}
	if len(got.Warnings) == 0 {
		t.Error("the lost length is not told")
	}
}

// A straight duct says nothing of where it lies: no shift is made up.
func TestCompareStraightDuct(t *testing.T) {
	a, err := passage.New([]passage.Station{round(t, 0, 0.04), round(t, 0.2, 0.04)})
	if err != nil {
		t.Fatal(err)
	}
	b, err := passage.New([]passage.Station{round(t, 0, 0.041), round(t, 0.2, 0.041)})
	if err != nil {
		t.Fatal(err)
	}
	got, err := passage.Compare(a, b, passage.AlignBest, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "shift", got.Shift, 0, 0)
}

// Cutting deeper than the wall that was there is said with its place.
func TestCompareThroughTheWall(t *testing.T) {
	got, err := passage.Compare(tapered(t, 0, 0, 0.0002), tapered(t, 0, 0.001, 0), passage.AlignEntry, 2680)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Warnings) != 1 || !strings.Contains(got.Warnings[0], "further than the wall") {
		t.Errorf("%q", got.Warnings)
	}
}

// Swapping before and after swaps what was taken off and what was put on.
func TestCompareSwaps(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		make2 := func() *passage.Passage {
			var st []passage.Station
			for i := range 6 {
				s, err := passage.Round(rapid.Float64Range(0.03, 0.05).Draw(r, "d"))
				if err != nil {
					r.Fatal(err)
				}
				st = append(st, passage.Station{Section: s, At: 0.05 * float64(i)})
			}
			p, err := passage.New(st)
			if err != nil {
				r.Fatal(err)
			}
			return p
		}
		a, b := make2(), make2()
		x, err1 := passage.Compare(a, b, passage.AlignEntry, 1000)
		y, err2 := passage.Compare(b, a, passage.AlignEntry, 1000)
		if err1 != nil || err2 != nil {
			r.Fatal(err1, err2)
		}
		if math.Abs(x.Removed-y.Added) > 1e-12 || math.Abs(x.Added-y.Removed) > 1e-12 {
			r.Errorf("removed %g and added %g, swapped %g and %g", x.Removed, x.Added, y.Removed, y.Added)
		}
		if net := b.Volume() - a.Volume(); math.Abs(x.Removed-x.Added-net) > 2e-4*a.Volume() {
			r.Errorf("net %g, volumes differ by %g", x.Removed-x.Added, net)
		}
	})
}

func TestCompareRefuses(t *testing.T) {
	p := tapered(t, 0, 0, 0)
	far, err := passage.New([]passage.Station{round(t, 10, 0.04), round(t, 10.2, 0.04)})
	if err != nil {
		t.Fatal(err)
	}
	_, err1 := passage.Compare(p, nil, passage.AlignEntry, 1)
	_, err2 := passage.Compare(p, p, passage.AlignEntry, 0)
	_, err3 := passage.Compare(p, p, passage.AlignEntry, math.NaN())
	for _, err := range []error{err1, err2, err3} {
		if !errors.Is(err, passage.ErrCompare) {
			t.Error(err)
		}
	}
	if _, err := passage.Compare(p, far, passage.AlignEntry, 1); err != nil {
		t.Errorf("distances count from any start: %v", err)
	}
}
