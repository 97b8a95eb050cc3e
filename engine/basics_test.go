package engine

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if math.IsNaN(got) || math.Abs(got-want) > rel*max(math.Abs(want), 1e-3) {
		t.Errorf("%s = %.12g, want %.12g within %g", what, got, want, rel)
	}
}

// engine_basics.csv: closed forms computed by an independent program, 1e-9.
func TestBasicsReference(t *testing.T) {
	seen := map[string]int{}
	for _, r := range rows(t, "engine_basics.csv") {
		q, want := r["quantity"], num(t, r["value"])
		seen[q]++
		v := func(i string) float64 { return num(t, r["value"+i]) }
		crank := func() (Crank, float64) {
			c := Crank{}
			var n float64
			for kv := range strings.SplitSeq(r["note"], ";") {
				k, s, _ := strings.Cut(kv, "=")
				switch x := num(t, s); k {
				case "B":
					c.Bore = x
				case "S":
					c.Stroke = x
				case "l":
					c.Rod = x
				case "CR":
					c.CompressionRatio = x
				case "N":
					n = x / 60
				}
			}
			return c, n
		}
		var got float64
		switch q {
		case "otto_efficiency":
			got = OttoEfficiency(v("1"), v("2"))
		case "piston_travel_from_TDC":
			c, _ := crank()
			got = c.Travel(v("1") * math.Pi / 180)
		case "cylinder_volume":
			c, _ := crank()
			got = c.Volume(v("1") * math.Pi / 180)
			want, got = want*1e6, got*1e6
		case "piston_speed":
			c, n := crank()
			got = c.TravelRate(v("1")*math.Pi/180) * 2 * math.Pi * n
		case "mean_piston_speed":
			got = Crank{Stroke: v("1")}.MeanPistonSpeed(v("2") / 60)
		case "wiebe_mass_fraction":
			a, m, _ := strings.Cut(r["name4"], ";")
			aa, mm, _ := strings.Cut(r["value4"], ";")
			if !strings.Contains(a+m, "a") {
				t.Fatal("row without constants")
			}
			if mm == "" { // the pair sits in the name column
				aa, mm = a[strings.Index(a, "=")+1:], m
			}
			got = Wiebe{Start: v("2"), Duration: v("3"), A: num(t, aa), M: num(t, mm)}.Fraction(v("1"))
		case "livengood_taylor_mach_index":
			got = MachIndex(v("1"), v("2"), 1, v("3"), v("4"), 1)
		case "choked_mass_flux":
			continue // package gas
		default:
			t.Errorf("row %s: unknown quantity %q", r["id"], q)
		}
		near(t, q+" row "+r["id"], got, want, 1e-9)
	}
	if seen["cylinder_volume"] < 20 || seen["wiebe_mass_fraction"] < 10 {
		t.Errorf("rows seen: %v", seen)
	}
}

// power_correction.csv: 1e-6 given the dry pressure; its temperature rule is T = t + 273.
func TestCorrectionReference(t *testing.T) {
	for _, r := range rows(t, "power_correction.csv") {
		temp := num(t, r["t_C"]) + 273.15
		pd := num(t, r["pd_Pa"])
		j, wj := CorrectionJ1349(pd, temp)
		near(t, "J1349 row "+r["id"], j, num(t, r["cf_J1349"]), 1e-6)
		i, wi := CorrectionISO1585(pd, temp)
		near(t, "ISO 1585 row "+r["id"], i, num(t, r["alpha_ISO1585"]), 1e-6)
		if (len(wj) == 0) != (r["j_in_range"] == "1") || (len(wi) == 0) != (r["iso_in_range"] == "1") {
			t.Errorf("row %s: warnings %v %v, in range %s %s", r["id"], wj, wi, r["j_in_range"], r["iso_in_range"])
		}
	}
}

// DIN 70020 by hand: 1013 mbar and 20 °C is the reference day.
func TestCorrectionDIN(t *testing.T) {
	for _, r := range rows(t, "power_correction.csv") {
		near(t, "DIN row "+r["id"], CorrectionDIN70020(num(t, r["p_Pa"]), num(t, r["t_C"])+273.15), num(t, r["k_DIN70020"]), 1e-6)
	}
}

// intake_tuning.csv: 1e-9.
func TestTuningReference(t *testing.T) {
	for _, r := range rows(t, "intake_tuning.csv") {
		v := EngelmanVolume(num(t, r["Vd_m3"]), num(t, r["CR"]))
		near(t, "V_eff", v, num(t, r["Veff_m3"]), 1e-9)
		c, l, a := num(t, r["c_ms"]), num(t, r["L1_m"]), num(t, r["A1_m2"])
		if r["kind"] == "single_pipe" {
			f := EngelmanFrequency(c, l, a, v)
			near(t, "f", f, num(t, r["f1_Hz"]), 1e-9)
			near(t, "N", TunedSpeed(f, num(t, r["K"]))*60, num(t, r["N_rpm"]), 1e-9)
			continue
		}
		f1, f2 := EngelmanTwoVolume(c, l, a, v, num(t, r["L2_m"]), num(t, r["A2_m2"]), num(t, r["V2_m3"]))
		near(t, "f1", f1, num(t, r["f1_Hz"]), 1e-9)
		near(t, "f2", f2, num(t, r["f2_Hz"]), 1e-9)
	}
}

// Worked points of the closed forms, computed apart from this code from the same published equations: runner and cylinder
// of 500 cm³, r 10, D 40 mm, c 343.2 m/s; two volumes 77.447 and 195.064 Hz; Mach index of an 86 mm bore with one 46 mm valve.
func TestGuidesWorked(t *testing.T) {
	a := math.Pi / 4 * 0.04 * 0.04
	v := EngelmanVolume(500e-6, 10)
	for _, c := range []struct{ l, f, rpm float64 }{{0.30, 202.2, 5778}, {0.40, 175.1, 5004}, {0.50, 156.7, 4476}} {
		f := EngelmanFrequency(343.2, c.l, a, v)
		near(t, "f", f, c.f, 5e-4)
		near(t, "rpm", 60*TunedSpeed(f, EngelmanFactor), c.rpm, 5e-4)
	}
	f1, f2 := EngelmanTwoVolume(343.2, 0.35, a, v, 0.30, math.Pi/4*0.06*0.06, 3e-3+3*0.35*a)
	near(t, "f1", f1, 77.447, 1e-4)
	near(t, "f2", f2, 195.064, 1e-4)
	near(t, "Z", MachIndex(0.086, 0.046, 1, 17.2, 0.36, 343.2), 0.487, 1e-3)
	near(t, "air, 2.0 L, 7000 rpm, as volume", AirDemand(2e-3, 7000./60, 1, 1), 0.11667, 1e-4)
}

// Seat geometry, worked apart from this code from the same equations: D_v 40, w 2, 45°, D_p 36, D_s 7 mm.
func TestSeatArea(t *testing.T) {
	s := Seat{Head: 0.040, Width: 0.002, Angle: math.Pi / 4, Port: 0.036, Stem: 0.007}
	for _, c := range []struct{ mm, mm2 float64 }{{1, 81.08}, {2, 164.39}, {3, 249.91}, {5, 430.43}, {8, 755.03}, {9.957, 979.39}, {12, 979.39}} {
		if got := s.Area(c.mm*1e-3) * 1e6; math.Abs(got-c.mm2) > 0.01 {
			t.Errorf("area at %v mm = %.3f mm², want %.2f", c.mm, got, c.mm2)
		}
	}
	for _, join := range []float64{0.004, 0.009956} {
		if a, b := s.Area(join-1e-9), s.Area(join+1e-9); math.Abs(a-b) > 1e-9 {
			t.Errorf("area jumps at %v: %v, %v", join, a, b)
		}
	}
}

// Heat and friction worked apart from this code from the same published equations: 30 bar, 2000 K, B 86 mm, 60 cm³, 12 m/s.
func TestHeatFriction(t *testing.T) {
	near(t, "Hohenberg", HohenbergCoefficient(6e-5, 30e5, 2000, 12), 1350, 2e-3)
	near(t, "Woschni", WoschniCoefficient(0.086, 30e5, 2000, WoschniSpeed(12, 0, 1, 1, 1, 0, 0, false)), 810, 2e-3)
	near(t, "Chen-Flynn original", ChenFlynnFit{A: 0.137e5, B: 0.005, C: 0.162e5}.Pressure(70e5, 15), 2.92e5, 2e-3)
	near(t, "Chen-Flynn", DefaultChenFlynn().Pressure(70e5, 15), 2.30e5, 4e-3)
	// Patton et al. (friction without pumping) against Barnes-Moss 0.97 + 0.15n + 0.05n² bar, which holds the pumping of a motored
	// engine within it (Heywood 13.6, from memory): below it, and not below 0.4 of it.
	b := FillPatton(PattonBuild{Bore: 0.086, Stroke: 0.086, Cylinders: 4, CompressionRatio: 10})
	for _, rpm := range []float64{2000, 4000, 6000} {
		n := rpm / 1000
		if q := b.Pressure(rpm/60, 1) / ((0.97 + 0.15*n + 0.05*n*n) * 1e5); q < 0.4 || q > 1 {
			t.Errorf("Patton over Barnes-Moss at %v rpm = %v", rpm, q)
		}
	}
}

// Wiebe: a 5, m 2 burns 10, 50, 90 % at 0.276, 0.518, 0.772 of its duration.
func TestWiebe(t *testing.T) {
	w := Wiebe{Duration: 1, A: WiebeA, M: WiebeM}
	for _, c := range []struct{ x, at float64 }{{0.1, 0.276}, {0.5, 0.518}, {0.9, 0.772}} {
		near(t, "angle", w.Angle(c.x), c.at, 1e-3)
	}
	d := 25 * math.Pi / 180
	v := WiebeOf(DefaultCA50, d, WiebeM)
	near(t, "half", v.Fraction(DefaultCA50), 0.5, 1e-9)
	near(t, "10–90", v.Angle(0.9)-v.Angle(0.1), d, 1e-9)
}

// Fuels: stoichiometric air of gasoline near 14.6, ethanol 9.0 and methanol 6.45 (Heywood 1988 table D.4, from memory).
// The heat of a stoichiometric charge: 2.7–2.9 MJ/kg for all (common knowledge); the rich charge keeps heat back as CO and H2.
func TestFuel(t *testing.T) {
	for _, c := range []struct {
		name string
		afr  float64
	}{{"gasoline", 14.6}, {"ethanol", 9.0}, {"methanol", 6.45}, {"e85", 9.8}} {
		f, err := FuelNamed(c.name)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name, f.StoichiometricRatio(), c.afr, 0.01)
		ch, err := f.Charge(1, 1, 0)
		if err != nil {
			t.Fatal(err)
		}
		if ch.Heat < 2.65e6 || ch.Heat > 3.1e6 {
			t.Errorf("%s: heat %v J/kg of charge", c.name, ch.Heat)
		}
		rich, err := f.Charge(0.85, 1, 0)
		if err != nil {
			t.Fatal(err)
		}
		near(t, c.name+" heat of rich over stoichiometric charge, by air", rich.Heat*(1+rich.FuelAir)/(ch.Heat*(1+ch.FuelAir)), 1.0, 0.05)
		near(t, "mass", ch.Burned.Mass(), ch.Fresh.Mass(), 1e-4)
	}
	if _, err := FuelNamed("coal"); !errors.Is(err, ErrFuel) {
		t.Errorf("coal: %v", err)
	}
	if _, err := (Fuel{C: 1, H: 4}).Charge(5, 1, 0); !errors.Is(err, ErrFuel) {
		t.Errorf("lambda 5: %v", err)
	}
}

// The two ways to the heat of combustion: the card's lower heat of combustion, and the heats of formation of the species.
func TestFuelHeatByFormation(t *testing.T) {
	for _, name := range []string{"ethanol", "methanol"} {
		f, _ := FuelNamed(name)
		ch, err := f.Charge(1.3, 1, 0) // lean: no CO or H2
		if err != nil {
			t.Fatal(err)
		}
		u := func(b interface {
			Mass() float64
			Amount() float64
		}, h float64,
		) float64 {
			return (h - b.Amount()*8.314462618*298.15) / b.Mass()
		}
		var hf, hb float64
		for _, p := range ch.Fresh {
			hf += p.Amount * p.Species.Enthalpy(298.15)
		}
		for _, p := range ch.Burned {
			hb += p.Amount * p.Species.Enthalpy(298.15)
		}
		near(t, name, ch.Heat, u(ch.Fresh, hf)-u(ch.Burned, hb), 0.02)
	}
}

func deg(d float64) float64 { return d * math.Pi / 180 }

// Events come back as stated, at the stated lift, for either law and any lash.
func TestLobe(t *testing.T) {
	for _, shape := range []Shape{Smooth, Sine2} {
		for _, lash := range []float64{0, 0.0002} {
			l := Lobe{Opens: deg(-10), Closes: deg(230), AtLift: 0.00127, PeakLift: 0.0105, Shape: shape, Lash: lash}
			p, err := l.Profile()
			if err != nil {
				t.Fatal(err)
			}
			opens, closes := p.Events(l.AtLift - lash)
			near(t, "opens", opens, l.Opens, 3e-3)
			near(t, "closes", closes, l.Closes, 1e-3)
			peak, at := p.Peak()
			near(t, "peak", peak, l.PeakLift-lash, 1e-6)
			near(t, "peak angle", at, deg(110), 3e-3)
			q := p.Change(deg(-4), deg(5), 1.05)
			near(t, "longer", q.Duration(0.001*1.05), p.Duration(0.001)+deg(5), 2e-3)
			_, at = q.Peak()
			near(t, "earlier", at, deg(106), 3e-3)
		}
	}
	// Events at the seat are where the valve leaves and meets it, whatever the lash.
	for _, shape := range []Shape{Smooth, Sine2} {
		p, err := Lobe{Opens: deg(-32), Closes: deg(248), PeakLift: 0.0115, Lash: 0.00025, Shape: shape}.Profile()
		if err != nil {
			t.Fatal(err)
		}
		opens, closes := p.Events(1e-9)
		near(t, "leaves its seat", opens, deg(-32), 1e-3)
		near(t, "meets its seat", closes, deg(248), 1e-3)
	}
	for _, bad := range []Lobe{
		{Opens: 1, Closes: 0, PeakLift: 0.01},
		{Opens: 0, Closes: 2, PeakLift: 0},
		{Opens: 0, Closes: 2, PeakLift: 0.001, AtLift: 0.002},
		{Opens: 0, Closes: 2, PeakLift: 0.01, Lash: -1},
	} {
		if _, err := bad.Profile(); !errors.Is(err, ErrCam) {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

// The smooth law has no step in lift, speed or acceleration at seat and peak, and its lift only falls from peak to seat.
func TestShapeSmooth(t *testing.T) {
	const h = 1e-3
	last := 1.0
	for x := h; x <= 1+2*h; x += h {
		y := Smooth.at(x)
		if y > last {
			t.Fatalf("lift rises at %v", x)
		}
		last = y
	}
	acc := (Smooth.at(1-2*h) - 2*Smooth.at(1-h) + Smooth.at(1)) / (h * h)
	if math.Abs(acc) > 0.2 {
		t.Errorf("acceleration at the seat %v", acc)
	}
}

// A table of a sine-squared lobe gives the lobe back.
func TestProfileOf(t *testing.T) {
	l := Lobe{Opens: deg(-20), Closes: deg(240), PeakLift: 0.010, Shape: Sine2}
	want, _ := l.Profile()
	var table []LiftPoint
	for d := -20.0; d <= 240; d += 5 {
		table = append(table, LiftPoint{deg(d), want.Lift(deg(d)) / 1.5})
	}
	got, err := ProfileOf(table, 1.5, 0)
	if err != nil {
		t.Fatal(err)
	}
	for d := -360.0; d < 360; d += 1.3 {
		if a, b := got.Lift(deg(d)), want.Lift(deg(d)); math.Abs(a-b) > 2e-5 {
			t.Errorf("lift at %v° = %v, want %v", d, a, b)
		}
	}
	if _, err := ProfileOf(table[:3], 1, 0); !errors.Is(err, ErrCam) {
		t.Errorf("three points: %v", err)
	}
}

// Typical coefficients: a good port reaches an effective area of 0.5–0.68 of the head area at L/D 0.30–0.35 (typical, from memory);
// the effective area never falls with lift.
func TestValveFlow(t *testing.T) {
	v := ValveFlow{Count: 1, Seat: Seat{Head: 0.04}}
	head := math.Pi / 4 * 0.04 * 0.04
	if c := v.Area(0.3*0.04) / head; c < 0.5 || c > 0.68 {
		t.Errorf("C_f at L/D 0.3 = %v", c)
	}
	last := 0.0
	for l := 0.0; l < 0.02; l += 0.0001 {
		a := v.Area(l)
		if a < last-1e-12 {
			t.Fatalf("area falls at %v", l)
		}
		last = a
	}
	m := ValveFlow{Measured: []FlowPoint{{0.002, 1e-4}, {0.006, 3e-4}, {0.010, 4e-4}}}
	near(t, "measured point", m.Area(0.006), 3e-4, 1e-12)
	near(t, "beyond", m.Area(0.02), 4e-4, 1e-12)
	c := ValveFlow{Constant: 0.65, Seat: Seat{Head: 0.04}}
	near(t, "constant", c.Area(0.003), 0.65*math.Pi*0.04*0.003, 1e-12)
	near(t, "constant, open", c.Area(0.02), 0.65*head, 1e-12)
	tab := m.table(0.010)
	near(t, "table", tab.at(0.0043), m.Area(0.0043), 1e-3)
}
