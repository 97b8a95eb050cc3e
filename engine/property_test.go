package engine

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the crank: its volume repeats every turn, is smallest at top and largest at bottom centre, and its rate is the slope of it.
func TestCrankProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.Float64Range(0.03, 0.15).Draw(t, "stroke")
		c := Crank{
			Bore: rapid.Float64Range(0.03, 0.15).Draw(t, "bore"), Stroke: s, Rod: s * rapid.Float64Range(1.2, 3).Draw(t, "rod"),
			CompressionRatio: rapid.Float64Range(5, 16).Draw(t, "ratio"),
		}
		th := rapid.Float64Range(-10, 10).Draw(t, "angle")
		v := c.Volume(th)
		if math.Abs(c.Volume(th+2*math.Pi)/v-1) > 1e-9 {
			t.Fatal("volume does not repeat")
		}
		if v < c.Clearance()*(1-1e-12) || v > c.Clearance()*c.CompressionRatio*(1+1e-12) {
			t.Fatalf("volume %v outside its ends", v)
		}
		const h = 1e-6
		if d := (c.Travel(th+h) - c.Travel(th-h)) / (2 * h); math.Abs(d-c.TravelRate(th)) > 1e-7*s+1e-8 {
			t.Fatalf("rate %v, slope %v", c.TravelRate(th), d)
		}
	})
}

// Whatever the lobe: its lift is never negative, reaches its peak less the lash, and is shut outside its events when they are seat to seat.
func TestLobeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		open := rapid.Float64Range(-1.2, 0).Draw(t, "opens")
		l := Lobe{
			Opens: open, Closes: open + rapid.Float64Range(3, 6).Draw(t, "duration"), PeakLift: rapid.Float64Range(0.004, 0.016).Draw(t, "peak"),
			Lash: rapid.Float64Range(0, 0.0005).Draw(t, "lash"), Shape: Shape(rapid.IntRange(0, 1).Draw(t, "shape")),
		}
		p, err := l.Profile()
		if err != nil {
			t.Fatal(err)
		}
		peak, _ := p.Peak()
		if math.Abs(peak-(l.PeakLift-l.Lash)) > 1e-5*l.PeakLift {
			t.Fatalf("peak %v", peak)
		}
		for th := l.Closes + 2*camStep; th < l.Opens+Cycle-2*camStep; th += 0.05 {
			if p.Lift(th) != 0 {
				t.Fatalf("open at %v", th)
			}
		}
	})
}

// Whatever the law of burning: Angle undoes Fraction.
func TestWiebeProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := WiebeOf(rapid.Float64Range(-0.2, 0.5).Draw(t, "ca50"), rapid.Float64Range(0.2, 1).Draw(t, "duration"), rapid.Float64Range(1, 4).Draw(t, "m"))
		x := rapid.Float64Range(0.001, 0.99).Draw(t, "x")
		if got := w.Fraction(w.Angle(x)); math.Abs(got-x) > 1e-9 {
			t.Fatalf("fraction %v of angle of %v", got, x)
		}
	})
}

// Whatever the firing order: every cylinder fires once, evenly.
func TestPhasesProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 12).Draw(t, "cylinders")
		order := rapid.Permutation(numbers(n)).Draw(t, "order")
		ph, err := PhasesOf(n, order)
		if err != nil {
			t.Fatal(err)
		}
		seen := make([]bool, n)
		for _, p := range ph {
			k := int(math.Round(p / (Cycle / float64(n))))
			if k < 0 || k >= n || seen[k] || math.Abs(p-Cycle/float64(n)*float64(k)) > 1e-12 {
				t.Fatalf("phases %v of %v", ph, order)
			}
			seen[k] = true
		}
		if ph[0] != 0 {
			t.Fatal("cylinder 1 must be the first")
		}
	})
}

func numbers(n int) []int {
	v := make([]int, n)
	for i := range v {
		v[i] = i + 1
	}
	return v
}
