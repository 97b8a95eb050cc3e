package tract_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/tract"
)

const cm2 = 1e-4

func near(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: %.9g, want %.9g ± %g", what, got, want, tol)
	}
}

// Worked inverse of the sum of loss coefficients at one test pressure, 1/Q² = Σ 1/Qᵢ² (definition), so rest = (1/Qa² − 1/Qh²)^(−½),
// share (Qa/Qh)² and gain of error (rest/Qa)², by hand calculator outside this code. The flows are at one test pressure, so they stand for effective areas. Tolerance: printed digits.
func TestWithoutPiece(t *testing.T) {
	tests := []struct {
		head, assembled, rest, share, gain float64
		meaningless                        bool
	}{
		{280, 262, 742.7, 0.876, 8.0, false},
		{315, 300, 983.9, 0.907, 10.8, false},
		{315, 285, 669.1, 0.819, 5.5, false},
		{300, 297, 2105, 0.980, 50, true},
	}
	for _, tt := range tests {
		got, err := tract.WithoutPiece(tt.head, 0.01, tt.assembled, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		tol := 0.05
		if tt.rest > 2000 {
			tol = 0.5 // printed without decimals
		}
		near(t, "rest", got.Area, tt.rest, tol)
		near(t, "share of the head", got.Share, tt.share, 0.0005)
		near(t, "gain", got.Gain, tt.gain, max(0.05, 0.01*tt.gain)) // printed with one decimal, the last with none
		if got.Meaningless != tt.meaningless {
			t.Errorf("%g and %g: meaningless is %v", tt.head, tt.assembled, got.Meaningless)
		}
		if tt.meaningless != strings.Contains(got.Note, "meaningless at ±1 %") {
			t.Errorf("note is %q", got.Note)
		}
		// The stated gain is the derivative: checked against a difference.
		up, err := tract.WithoutPiece(tt.head, 0, tt.assembled*(1+1e-6), 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "gain by difference", (up.Area/got.Area-1)/1e-6, got.Gain, 1e-2*got.Gain)
	}
}

func TestWithoutPieceThatShowsNothing(t *testing.T) {
	got, err := tract.WithoutPiece(300, 0.005, 301, 0.005)
	if err != nil {
		t.Fatal(err)
	}
	if !math.IsInf(got.Area, 1) || !got.Meaningless || got.Note == "" {
		t.Errorf("assembled above the piece alone: %+v", got)
	}
	if _, err := tract.WithoutPiece(0, 0, 1, 0); !errors.Is(err, tract.ErrNoArea) {
		t.Errorf("zero area: %v", err)
	}
}

// Forward sums, (Σ 1/Qᵢ²)^(−½), by hand calculator outside this code: 500 ⊕ 330 ⊕ 280 and so on, in any unit of flow at one test
// pressure.
func TestSeriesNothingCarried(t *testing.T) {
	tests := []struct {
		pieces []float64
		want   float64
	}{
		{[]float64{500, 330, 280}, 196.35},
		{[]float64{330, 280}, 213.50},
		{[]float64{700, 280}, 259.97},
	}
	for _, tt := range tests {
		var s tract.Series
		for _, a := range tt.pieces {
			s.Pieces = append(s.Pieces, tract.Piece{Name: "p", Area: a})
		}
		got, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "whole", got.Area, tt.want, 0.005)
		near(t, "lower", got.Lower, tt.want, 0.005)
		if got.Upper < got.Lower {
			t.Errorf("upper %g below lower %g", got.Upper, got.Lower)
		}
	}
}

// A throttle body that flows n times one runner multiplies the reading of that runner by 1/√(1+1/n²) (definition of the sum):
// 0.894, 0.949, 0.981 and 0.990.
func TestThrottleBeforeRunner(t *testing.T) {
	for n, want := range map[float64]float64{2: 0.894, 3: 0.949, 5: 0.981, 7: 0.990} {
		s := tract.Series{Pieces: []tract.Piece{{Name: "throttle body", Area: n * 6 * cm2}, {Name: "runner", Area: 6 * cm2}}}
		got, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "factor", got.Area/(6*cm2), want, 0.0005)
		// The same body feeding four runners at once counts as one of a quarter of the area.
		s.Pieces[0].Feeds = 4
		four, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "factor with four runners", four.Area/(6*cm2), 1/math.Sqrt(1+16/(n*n)), 1e-12)
	}
}

// Two lengths of one straight duct measured apart and joined without a step: with the exit head of the first carried on whole,
// K of the pair is K1 + K2 − 1 on the duct's area.
func TestSeriesMatchedJoint(t *testing.T) {
	const a, k1, k2 = 10 * cm2, 1.6, 1.9
	s := tract.Series{Pieces: []tract.Piece{
		{Name: "first", Area: a / math.Sqrt(k1), Exit: a, Carried: 1},
		{Name: "second", Area: a / math.Sqrt(k2), Entry: a},
	}}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	near(t, "whole", got.Area, a/math.Sqrt(k1+k2-1), 1e-12)
	near(t, "upper", got.Upper, a/math.Sqrt(k1+k2-1), 1e-12)
	near(t, "lower", got.Lower, a/math.Sqrt(k1+k2), 1e-12)
	near(t, "share of the first", got.Shares[0].Drop, (k1-1)/(k1+k2-1), 1e-12)
	near(t, "gain of the first", got.Shares[0].Gain, k1/(k1+k2-1), 1e-8)
	if got.HoldsBack != "second" || got.NextBest != "second" {
		t.Errorf("holds back %q, next best %q", got.HoldsBack, got.NextBest)
	}
}

// The step of a joint is Borda–Carnot into a wider section (closed form on the narrow one).
func TestSeriesMismatch(t *testing.T) {
	const a1, a2 = 8 * cm2, 10 * cm2
	s := tract.Series{Pieces: []tract.Piece{
		{Name: "first", Area: 6 * cm2, Exit: a1, Carried: 0.7},
		{Name: "second", Area: 7 * cm2, Entry: a2},
	}}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	k := (1 - a1/a2) * (1 - a1/a2)
	sum := 1/(6*6*cm2*cm2) + 1/(7*7*cm2*cm2) - 0.7*(1-k)/(a1*a1)
	near(t, "whole", got.Area, 1/math.Sqrt(sum), 1e-12)
}

func twoPieces(drop float64) tract.Series {
	return tract.Series{
		Pieces: []tract.Piece{
			{Name: "manifold", Area: 9 * cm2, U: 0.006, Entry: 12 * cm2, Exit: 11 * cm2, Carried: 0.6, UCarried: 0.2, UExit: 0.01},
			{Name: "head", Area: 7 * cm2, U: 0.006, Entry: 11.5 * cm2, Exit: 9 * cm2},
		},
		Pressure: 101325, Drop: drop, Gamma: 1.4, Common: 0.008,
	}
}

// As the drop falls the compressible form must come to the small-drop form; at r ≥ 0.95 the small-drop form is used itself.
func TestSeriesCompressibleLimit(t *testing.T) {
	last := math.Inf(1)
	for _, drop := range []float64{40e3, 20e3, 10e3, 6e3} {
		got, err := twoPieces(drop).Solve()
		if err != nil {
			t.Fatal(err)
		}
		if !got.Compressible {
			t.Fatalf("drop %g Pa is not taken as compressible", drop)
		}
		off := math.Abs(got.Area/got.SmallDrop - 1)
		if off > last {
			t.Errorf("drop %g Pa: forms differ by %g, more than at a larger drop", drop, off)
		}
		last = off
	}
	if last > 0.01 {
		t.Errorf("at 6 kPa the forms still differ by %g", last)
	}
	got, err := twoPieces(4e3).Solve()
	if err != nil {
		t.Fatal(err)
	}
	if got.Compressible {
		t.Error("4 kPa is taken as compressible")
	}
}

// One piece alone is itself in either form, choked or not.
func TestSeriesOfOne(t *testing.T) {
	for _, drop := range []float64{1e3, 6974.5, 30e3, 60e3} {
		s := tract.Series{Pieces: []tract.Piece{{Name: "head", Area: 7 * cm2}}, Pressure: 101325, Drop: drop, Gamma: 1.4}
		got, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area", got.Area/(7*cm2), 1, 1e-10)
		near(t, "share", got.Shares[0].Drop, 1, 1e-9)
	}
}

// A second equal nozzle behind a plenum: total pressures multiply, so each sees the same ratio √r only in the small-drop limit;
// exactly, mass flow is conserved: p1·ψ(r1) = p0·ψ… checked through the shares, which must return the same flow piece by piece.
func TestSeriesMarchConservesMass(t *testing.T) {
	const p0, drop, gamma = 101325.0, 30e3, 1.4
	s := tract.Series{
		Pieces:   []tract.Piece{{Name: "a", Area: 9 * cm2}, {Name: "b", Area: 7 * cm2}, {Name: "c", Area: 8 * cm2}},
		Pressure: p0, Drop: drop, Gamma: gamma,
	}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	// ψ in its plain textbook form, written again here.
	psi := func(r float64) float64 {
		return math.Sqrt(2 * gamma / (gamma - 1) * (math.Pow(r, 2/gamma) - math.Pow(r, (gamma+1)/gamma)))
	}
	want := got.Area * p0 * psi(1-drop/p0)
	p := p0
	for i, share := range got.Shares {
		after := p - share.Drop*drop
		near(t, "flow of "+share.Piece, s.Pieces[i].Area*p*psi(after/p)/want, 1, 1e-8)
		p = after
	}
	near(t, "end pressure", p, p0-drop, 1e-6)
}

// η solved from an assembled reading that was made with a known η must return it.
func TestSeriesSolvesEta(t *testing.T) {
	for _, drop := range []float64{3e3, 6974.5, 25e3} {
		s := twoPieces(drop)
		s.Pieces[0].Carried = 0.37
		made, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		s.Assembled, s.UAssembled = made.Area, 0.004
		s.Pieces[0].Carried = 0
		got, err := s.Solve()
		if err != nil {
			t.Fatal(err)
		}
		near(t, "η", got.Solved.Eta, 0.37, 1e-6)
		near(t, "whole", got.Area, s.Assembled, 1e-9*s.Assembled)
		near(t, "uncertainty of the whole", got.U, math.Hypot(0.004, 0.008), 1e-12)
		if got.Solved.U <= 0 {
			t.Error("η has no uncertainty")
		}
	}
}

// The gain of the solved η is its derivative; in the small-drop form it is −2/AT² over the slope of 1/AT² in η (by hand).
func TestSolvedEtaGain(t *testing.T) {
	s := twoPieces(0)
	s.Pressure = 0
	s.Pieces[1].Entry = 0 // matched
	s.Assembled = 5.9 * cm2
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	x := 11 * cm2
	want := 2 / (s.Assembled * s.Assembled) * (x * x)
	near(t, "gain", got.Solved.Gain, want, 1e-4*want)
	// A wide exit carries so little head that ±1 % readings cannot show it.
	s.Pieces[0].Exit = 30 * cm2
	got, err = s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	if !got.Solved.Meaningless || !strings.Contains(got.Solved.Note, "meaningless at ±1 %") {
		t.Errorf("wide exit: %+v", got.Solved)
	}
}

// First-order uncertainty against the closed form: with nothing carried, ∂lnAT/∂lnAe = AT²/Ae², and a common part adds up whole.
func TestSeriesUncertainty(t *testing.T) {
	s := tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 9, U: 0.01}, {Name: "b", Area: 7, U: 0.005}}, Common: 0.003}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	ca, cb := got.Area*got.Area/81, got.Area*got.Area/49
	near(t, "u", got.U, math.Sqrt(ca*ca*1e-4+cb*cb*25e-6+9e-6*(ca+cb)*(ca+cb)), 1e-8)
}

func TestSeriesRefuses(t *testing.T) {
	tests := []struct {
		name string
		s    tract.Series
		want error
	}{
		{"no pieces", tract.Series{}, tract.ErrNoPieces},
		{"zero area", tract.Series{Pieces: []tract.Piece{{Name: "a"}}}, tract.ErrNoArea},
		{"nan area", tract.Series{Pieces: []tract.Piece{{Name: "a", Area: math.NaN()}}}, tract.ErrNoArea},
		{"negative exit", tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 1, Exit: -1}}}, tract.ErrNoArea},
		{"carried above one", tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 1, Carried: 1.2}}}, tract.ErrNoArea},
		{"drop above pressure", tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 1}}, Pressure: 1e5, Drop: 2e5, Gamma: 1.4}, tract.ErrPressure},
		{"negative assembled", tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 2}, {Name: "b", Area: 1}}, Assembled: -0.9}, tract.ErrNoArea},
	}
	for _, tt := range tests {
		if _, err := tt.s.Solve(); !errors.Is(err, tt.want) {
			t.Errorf("%s: %v, want %v", tt.name, err, tt.want)
		}
	}
}

func TestSeriesWarns(t *testing.T) {
	s := tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 9, Exit: 8}, {Name: "b", Area: 7}, {Name: "c", Area: 7}}}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Warnings) != 2 {
		t.Errorf("an exit below the effective area and an unknown exit should be two warnings: %q", got.Warnings)
	}
}

// An assembled reading that cannot be used is said so, and the rest of the answer stands.
func TestSeriesAssembledWithoutExit(t *testing.T) {
	s := tract.Series{Pieces: []tract.Piece{{Name: "a", Area: 2}, {Name: "b", Area: 1}}, Assembled: 0.93}
	got, err := s.Solve()
	if err != nil {
		t.Fatal(err)
	}
	if got.Solved != nil || !strings.Contains(strings.Join(got.Warnings, " "), "assembled reading is not used") {
		t.Errorf("%+v", got)
	}
	near(t, "whole", got.Area, 2/math.Sqrt(5), 1e-12)
}

// Whatever the pieces: the bounds hold, the shares add to one, the whole is no better than its best bound, more carried is never
// less flow, gains fall along each curve and never pass its ceiling.
func TestSeriesProperties(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		var s tract.Series
		for range rapid.IntRange(1, 4).Draw(r, "n") {
			a := rapid.Float64Range(2, 40).Draw(r, "cm2") * cm2
			p := tract.Piece{Name: "p", Area: a, U: 0.01, Carried: rapid.Float64Range(0, 1).Draw(r, "eta")}
			if rapid.Bool().Draw(r, "known") {
				p.Exit = a * rapid.Float64Range(1, 3).Draw(r, "exit")
				p.Entry = a * rapid.Float64Range(1, 3).Draw(r, "entry")
			}
			s.Pieces = append(s.Pieces, p)
		}
		if rapid.Bool().Draw(r, "compressible") {
			s.Pressure, s.Gamma, s.Drop = 101325, 1.4, rapid.Float64Range(500, 50e3).Draw(r, "drop")
		}
		got, err := s.Solve()
		if err != nil {
			r.Fatal(err)
		}
		if got.Lower > got.Area*(1+1e-9) || got.Area > got.Upper*(1+1e-9) {
			r.Errorf("%g is not between %g and %g", got.Area, got.Lower, got.Upper)
		}
		sum := 0.0
		for i, share := range got.Shares {
			sum += share.Drop
			if share.Drop < -1e-9 || share.Gain < -1e-6 {
				r.Errorf("share %+v", share)
			}
			c := got.Curves[i]
			for k, p := range c.Points {
				if k > 0 && p.Gain < c.Points[k-1].Gain-1e-9 {
					r.Errorf("gain falls along %+v", c)
				}
			}
		}
		if math.Abs(sum-1) > 1e-6 {
			r.Errorf("shares add to %.9f", sum)
		}
	})
}
