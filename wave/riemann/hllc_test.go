package riemann_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"runnel/wave/riemann"
)

// drawState draws a gas state.
func drawState(t *rapid.T, n string) riemann.State {
	return riemann.State{
		Rho:   math.Exp(rapid.Float64Range(-3, 3).Draw(t, n+"rho")),
		U:     rapid.Float64Range(-3, 3).Draw(t, n+"u"),
		P:     math.Exp(rapid.Float64Range(-3, 3).Draw(t, n+"p")),
		Gamma: rapid.Float64Range(1.1, 1.67).Draw(t, n+"g"),
	}
}

// TestHLLCConsistent: two alike states give their own flux, and mirrored
// states give the mirrored flux.
func TestHLLCConsistent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r := drawState(t, "l"), drawState(t, "r")
		got, want := riemann.HLLC(l, l), l.Flux()
		scale := l.P + l.Rho*l.U*l.U
		if math.Abs(got.Mass-want.Mass) > 1e-12*l.Rho*(1+math.Abs(l.U)) || math.Abs(got.Momentum-want.Momentum) > 1e-12*scale ||
			math.Abs(got.Energy-want.Energy) > 1e-11*(scale+math.Abs(want.Energy)) {
			t.Fatalf("HLLC of alike states %+v, want %+v", got, want)
		}
		a := riemann.HLLC(l, r)
		ml, mr := l, r
		ml.U, mr.U = -l.U, -r.U
		b := riemann.HLLC(mr, ml)
		big := math.Abs(a.Momentum) + 1
		if math.Abs(a.Mass+b.Mass) > 1e-9*big || math.Abs(a.Momentum-b.Momentum) > 1e-9*big || math.Abs(a.Energy+b.Energy) > 1e-9*(big+math.Abs(a.Energy)) {
			t.Fatalf("mirror: %+v and %+v", a, b)
		}
	})
}

// TestHLLCKeepsContact: a contact at rest has no flux but its pressure, exactly.
func TestHLLCKeepsContact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		l, r := drawState(t, "l"), drawState(t, "r")
		l.U, r.U, r.P = 0, 0, l.P
		if f := riemann.HLLC(l, r); f.Mass != 0 || f.Momentum != l.P || f.Energy != 0 {
			t.Fatalf("contact at rest: %+v, want only p = %g", f, l.P)
		}
	})
}

// TestHLLCNearExact: for close states the HLLC flux tends to the exact one
// with the square of the difference; it is a linearised solver.
func TestHLLCNearExact(t *testing.T) {
	worst := func(eps float64) float64 {
		l := riemann.State{Rho: 1.2, U: 30, P: 1e5, Gamma: 1.4}
		r := riemann.State{Rho: 1.2 * (1 + eps), U: 30 + 100*eps, P: 1e5 * (1 - eps), Gamma: 1.4}
		s, err := riemann.Exact(l, r)
		if err != nil {
			t.Fatal(err)
		}
		a, b := riemann.HLLC(l, r), s.Sample(0).Flux()
		return max(math.Abs(a.Mass/b.Mass-1), math.Abs(a.Momentum/b.Momentum-1), math.Abs(a.Energy/b.Energy-1))
	}
	e1, e2 := worst(0.02), worst(0.01)
	if order := math.Log2(e1 / e2); order < 1.8 {
		t.Errorf("difference to the exact flux %.2e, %.2e: order %.2f, want about 2", e1, e2, order)
	}
}
