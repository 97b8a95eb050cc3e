package riemann_test

import (
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
	"runnel/wave/riemann"
)

// solve reads the two states of a row and solves them.
func solve(t *testing.T, row tabletest.Row) riemann.Solution {
	t.Helper()
	g := row.Num(t, "gamma")
	l := riemann.State{Rho: row.Num(t, "rhoL"), U: row.Num(t, "uL"), P: row.Num(t, "pL"), Gamma: g}
	r := riemann.State{Rho: row.Num(t, "rhoR"), U: row.Num(t, "uR"), P: row.Num(t, "pR"), Gamma: g}
	s, err := riemann.Exact(l, r)
	if err != nil {
		t.Fatalf("%s: %v", row["case"], err)
	}
	return s
}

// TestExactAgainstReference: star states and wave speeds of riemann_exact.csv
// (Toro ch. 4, solved with 40 digits), at the file's tolerance of 1e-9; values
// near zero are scaled by the sound speed.
func TestExactAgainstReference(t *testing.T) {
	for _, row := range tabletest.Read(t, "testdata/riemann_exact.csv", 1) {
		s := solve(t, row)
		a := s.Left.SoundSpeed()
		for _, c := range []struct {
			name       string
			got, scale float64
		}{
			{"p_star", s.P, 0},
			{"u_star", s.U, a},
			{"rho_starL", s.RhoLeft, 0},
			{"rho_starR", s.RhoRight, 0},
			{"SL_head", s.LeftHead, a},
			{"SL_tail", s.LeftTail, a},
			{"SR_head", s.RightHead, a},
			{"SR_tail", s.RightTail, a},
		} {
			want := row.Num(t, c.name)
			if d := math.Abs(c.got - want); d > 1e-9*max(math.Abs(want), c.scale) {
				t.Errorf("%s %s: %.12g, want %.12g", row["case"], c.name, c.got, want)
			}
		}
	}
}

// TestExactAgainstToro: Toro (2009), table 4.3, the five test problems. The
// tolerance is one unit in the last figure the book prints. Values of test 5
// and of the densities from memory of the book.
func TestExactAgainstToro(t *testing.T) {
	for _, c := range []struct {
		name         string
		l, r         riemann.State
		p, u         float64
		tolP, tolU   float64
		rhoL, rhoR   float64
		tolRL, tolRR float64
	}{
		{"1 Sod", riemann.State{1, 0, 1, 1.4}, riemann.State{0.125, 0, 0.1, 1.4}, 0.30313, 0.92745, 1e-5, 1e-5, 0.42632, 0.26557, 1e-5, 1e-5},
		{"2 two rarefactions", riemann.State{1, -2, 0.4, 1.4}, riemann.State{1, 2, 0.4, 1.4}, 0.00189, 0, 1e-5, 1e-5, 0.02185, 0.02185, 1e-5, 1e-5},
		{"3 left blast", riemann.State{1, 0, 1000, 1.4}, riemann.State{1, 0, 0.01, 1.4}, 460.894, 19.5975, 1e-3, 1e-4, 0.57506, 5.99924, 1e-5, 1e-5},
		{"4 right blast", riemann.State{1, 0, 0.01, 1.4}, riemann.State{1, 0, 100, 1.4}, 46.0950, -6.19633, 1e-4, 1e-5, 5.99242, 0.57511, 1e-5, 1e-5},
		{"5 two shocks", riemann.State{5.99924, 19.5975, 460.894, 1.4}, riemann.State{5.99242, -6.19633, 46.0950, 1.4}, 1691.64, 8.68975, 1e-2, 1e-4, 14.2823, 31.0426, 1e-4, 1e-4},
	} {
		s, err := riemann.Exact(c.l, c.r)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(s.P-c.p) > c.tolP || math.Abs(s.U-c.u) > c.tolU {
			t.Errorf("%s: p* = %g, u* = %g, want %g, %g", c.name, s.P, s.U, c.p, c.u)
		}
		if math.Abs(s.RhoLeft-c.rhoL) > c.tolRL || math.Abs(s.RhoRight-c.rhoR) > c.tolRR {
			t.Errorf("%s: ρ* = %g, %g, want %g, %g", c.name, s.RhoLeft, s.RhoRight, c.rhoL, c.rhoR)
		}
	}
}

// TestSampleAgainstProfiles: every point of riemann_profiles.csv at its
// tolerance of 1e-8, save the points next to a jump, as the file says.
func TestSampleAgainstProfiles(t *testing.T) {
	sol, x0 := map[string]riemann.Solution{}, map[string]float64{}
	for _, row := range tabletest.Read(t, "testdata/riemann_exact.csv", 1) {
		sol[row["case"]], x0[row["case"]] = solve(t, row), row.Num(t, "x0")
	}
	checked := 0
	for _, row := range tabletest.Read(t, "testdata/riemann_profiles.csv", 1) {
		s := sol[row["case"]]
		x, tm := row.Num(t, "x")-x0[row["case"]], row.Num(t, "t")
		jump := false
		for _, w := range []float64{s.LeftHead, s.U, s.RightHead} {
			jump = jump || math.Abs(x-w*tm) < 0.006
		}
		if jump {
			continue
		}
		checked++
		got := s.Sample(x / tm)
		a := got.SoundSpeed()
		for _, c := range []struct {
			name             string
			got, want, scale float64
		}{
			{"rho", got.Rho, row.Num(t, "rho"), 0},
			{"u", got.U, row.Num(t, "u"), a},
			{"p", got.P, row.Num(t, "p"), 0},
			{"e", got.P / (got.Gamma - 1) / got.Rho, row.Num(t, "e"), 0},
		} {
			if math.Abs(c.got-c.want) > 1e-8*max(math.Abs(c.want), c.scale) {
				t.Errorf("%s x=%s %s: %.12g, want %.12g", row["case"], row["x"], c.name, c.got, c.want)
			}
		}
	}
	if checked < 2500 {
		t.Errorf("only %d points compared", checked)
	}
}

// TestGasdynamicsChecks: gasdynamics_exact_checks.csv, Sod and three air
// tubes, at the digits the file prints.
func TestGasdynamicsChecks(t *testing.T) {
	const r, t0 = 287.05, 293.15
	for _, row := range tabletest.Read(t, "testdata/gasdynamics_exact_checks.csv", 1) {
		l := riemann.State{Rho: 1, P: 1, Gamma: 1.4}
		rt := riemann.State{Rho: 0.125, P: 0.1, Gamma: 1.4}
		if bar, ok := strings.CutPrefix(row["case"], "air_"); ok {
			p, err := strconv.ParseFloat(strings.TrimSuffix(bar, "bar"), 64)
			if err != nil {
				t.Fatal(err)
			}
			p *= 1e5
			l = riemann.State{Rho: p / (r * t0), P: p, Gamma: 1.4}
			rt = riemann.State{Rho: 101325 / (r * t0), P: 101325, Gamma: 1.4}
		}
		s, err := riemann.Exact(l, rt)
		if err != nil {
			t.Fatal(err)
		}
		for _, c := range []struct {
			name string
			got  float64
		}{
			{"p_star", s.P},
			{"u_star", s.U},
			{"rho_star_left", s.RhoLeft},
			{"rho_star_right", s.RhoRight},
			{"shock_speed", s.RightHead},
			{"rarefaction_head", s.LeftHead},
			{"rarefaction_tail", s.LeftTail},
		} {
			if want := row.Num(t, c.name); math.Abs(c.got/want-1) > 1e-6 {
				t.Errorf("%s %s: %.10g, want %s", row["case"], c.name, c.got, row[c.name])
			}
		}
	}
}

// TestExactSatisfiesJumps: across both waves of any solution the conservation
// laws hold: Rankine–Hugoniot across a shock, entropy and the Riemann invariant
// across a rarefaction.
func TestExactSatisfiesJumps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(n string) riemann.State {
			return riemann.State{
				Rho:   math.Exp(rapid.Float64Range(-3, 3).Draw(t, n+"rho")),
				U:     rapid.Float64Range(-3, 3).Draw(t, n+"u"),
				P:     math.Exp(rapid.Float64Range(-5, 5).Draw(t, n+"p")),
				Gamma: rapid.Float64Range(1.1, 1.67).Draw(t, n+"g"),
			}
		}
		l, r := draw("l"), draw("r")
		s, err := riemann.Exact(l, r)
		if errors.Is(err, riemann.ErrVacuum) {
			if 2*l.SoundSpeed()/(l.Gamma-1)+2*r.SoundSpeed()/(r.Gamma-1) > r.U-l.U {
				t.Fatalf("vacuum refused wrongly: %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range []struct {
			far, star riemann.State
			speed     float64
			side      float64
		}{
			{l, riemann.State{s.RhoLeft, s.U, s.P, l.Gamma}, s.LeftHead, -1},
			{r, riemann.State{s.RhoRight, s.U, s.P, r.Gamma}, s.RightHead, 1},
		} {
			tol := 1e-9 * (w.far.Rho + w.star.Rho) * math.Pow(math.Abs(w.speed)+w.far.SoundSpeed()+w.star.SoundSpeed(), 3)
			if s.P > w.far.P {
				f, g := w.far.Flux(), w.star.Flux()
				if math.Abs(g.Mass-f.Mass-w.speed*(w.star.Rho-w.far.Rho)) > tol ||
					math.Abs(g.Momentum-f.Momentum-w.speed*(w.star.Rho*w.star.U-w.far.Rho*w.far.U)) > tol ||
					math.Abs(g.Energy-f.Energy-w.speed*(w.star.Energy()-w.far.Energy())) > tol {
					t.Fatalf("Rankine–Hugoniot broken: %+v", w)
				}
				continue
			}
			k := 2 / (w.far.Gamma - 1)
			inv := func(s riemann.State) float64 { return s.U - w.side*k*s.SoundSpeed() }
			if math.Abs(inv(w.far)-inv(w.star)) > 1e-8*k*(w.far.SoundSpeed()+math.Abs(w.far.U)) {
				t.Fatalf("Riemann invariant broken: %+v", w)
			}
			if e := w.star.P / w.far.P * math.Pow(w.far.Rho/w.star.Rho, w.far.Gamma); math.Abs(e-1) > 1e-8 {
				t.Fatalf("entropy changed by %g: %+v", e-1, w)
			}
		}
	})
}

func TestExactErrors(t *testing.T) {
	ok := riemann.State{Rho: 1, U: 0, P: 1, Gamma: 1.4}
	for _, c := range []struct {
		l, r riemann.State
		want error
	}{
		{riemann.State{1, -10, 1, 1.4}, riemann.State{1, 10, 1, 1.4}, riemann.ErrVacuum},
		{riemann.State{-1, 0, 1, 1.4}, ok, riemann.ErrState},
		{ok, riemann.State{1, 0, 0, 1.4}, riemann.ErrState},
		{ok, riemann.State{1, math.NaN(), 1, 1.4}, riemann.ErrState},
		{ok, riemann.State{1, 0, 1, 1}, riemann.ErrState},
	} {
		if _, err := riemann.Exact(c.l, c.r); !errors.Is(err, c.want) {
			t.Errorf("Exact(%+v, %+v): %v, want %v", c.l, c.r, err, c.want)
		}
	}
}
