package assess

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/engine"
	"runnel/job"
	"runnel/unit"
)

// one is an invented cylinder on its own.
func one() job.Engine {
	return job.Engine{
		Title: "invented", Cylinders: 1, Bore: 0.0845, Stroke: 0.089, Rod: 0.145, CompressionRatio: 10.5, RedLine: 6500. / 60,
		Cam: job.CamCard{
			Intake:  job.LobeCard{Opens: 20 * degree, Closes: 56 * degree, AtLift: 0.00127, PeakLift: 0.0108},
			Exhaust: job.LobeCard{Opens: 56 * degree, Closes: 20 * degree, AtLift: 0.00127, PeakLift: 0.0105},
		},
		Intake: job.ValveCard{Head: 0.042}, Exhaust: job.ValveCard{Head: 0.035},
		Inlet: job.InletCard{
			PlenumVolume: 1.5e-3, RunnerLength: 0.28, RunnerEntry: 0.044, RunnerExit: 0.040, PortLength: 0.09, PortBore: 0.036,
			ThrottleBore: 0.040, ThrottleShaft: 0.008, DuctLength: 0.25, DuctBore: 0.045,
		},
		Outlet: job.OutletCard{PortLength: 0.07, PrimaryLength: 0.75, PrimaryBore: 0.040},
	}
}

func oneTied(t testing.TB) Tied {
	t.Helper()
	tied, err := TieCard(one())
	if err != nil {
		t.Fatal(err)
	}
	return tied
}

// Every setting, set to a value, reads as that value afterwards: what the slider says is what the engine is.
func TestSettingsRoundTrip(t *testing.T) {
	tied := oneTied(t)
	if n := len(Settings()); n != 10 {
		t.Fatalf("%d settings", n)
	}
	for _, s := range Settings() {
		from, err := s.Now(tied)
		if err != nil {
			t.Fatalf("%s: %v", s.Name, err)
		}
		lo, hi := s.Range(from)
		if !(lo < from && from < hi) {
			t.Errorf("%s: %g is not between %g and %g", s.Name, from, lo, hi)
		}
		for _, to := range []float64{lo, from, from + 3*s.Step, hi} {
			set, err := s.Of(from, to)
			if err != nil {
				t.Errorf("%s to %g: its own slider is out of reach: %v", s.Name, to, err)
				continue
			}
			e, err := Make(tied, []Set{set})
			if err != nil {
				t.Errorf("%s to %g: %v", s.Name, to, err)
				continue
			}
			changed := tied
			changed.Engine = e
			if s.Name == "throttle.bore" { // held by the card: the effective area follows its square, exactly
				want := tied.Engine.Inlet.Throttle * to / from * to / from
				if math.Abs(e.Inlet.Throttle/want-1) > 1e-12 {
					t.Errorf("%s: %g m², want %g", s.Name, e.Inlet.Throttle, want)
				}
				continue
			}
			got, err := s.Now(changed)
			// Lobes stand on a quarter of a degree.
			tol := 1e-9 * math.Abs(to)
			if strings.HasPrefix(s.Name, "cam.") {
				tol = math.Max(0.26*degree, 1e-6)
			}
			if s.Name == "cam.lift" {
				tol = 1e-6
			}
			if err != nil || math.Abs(got-to) > tol {
				t.Errorf("%s set to %g reads %g (%v)", s.Name, to, got, err)
			}
		}
	}
}

// A change of one thing leaves the others alone.
func TestSettingsApart(t *testing.T) {
	tied := oneTied(t)
	for _, s := range Settings() {
		from, err := s.Now(tied)
		if err != nil {
			t.Fatal(err)
		}
		e, err := Make(tied, []Set{{Setting: s, From: from, To: from + 2*s.Step}})
		if err != nil {
			t.Fatal(err)
		}
		changed := tied
		changed.Engine = e
		for _, o := range Settings() {
			if o.Name == s.Name || s.Name == "runner.taper" && o.Name == "runner.section" || s.Name == "cam.lift" && o.Name == "cam.duration" {
				continue // the taper opens the mouth; more lift is longer above a millimetre
			}
			was, _ := o.Now(tied)
			is, _ := o.Now(changed)
			if math.Abs(is-was) > 1e-9*math.Abs(was)+0.26*degree*boolean(strings.HasPrefix(o.Name, "cam.")) {
				t.Errorf("%s moved %s from %g to %g", s.Name, o.Name, was, is)
			}
		}
	}
}

func boolean(b bool) float64 {
	if b {
		return 1
	}
	return 0
}

func TestParseSet(t *testing.T) {
	tied := oneTied(t)
	for _, c := range []struct {
		text string
		want float64
	}{
		{"runner.length=350mm", 0.35},
		{"runner.length = 350 mm", 0.35},
		{"runner.length=+20mm", 0.30},
		{"runner.length=-20 mm", 0.26},
		{"runner.length=−20 mm", 0.26},
		{"runner.length=+10%", 0.308},
		{"runner.length=11 in", 11 * 0.0254},
		{"plenum.volume=2 L", 2e-3},
		{"compression=11.2", 11.2},
		{"compression=+0.5", 11},
		{"compression=11.2:1", 11.2},
		{"runner.taper=-10%", 0.9 * 1.21},
	} {
		s, err := ParseSet(c.text, tied)
		if err != nil || math.Abs(s.To/c.want-1) > 1e-12 {
			t.Errorf("%s: %g, want %g (%v)", c.text, s.To, c.want, err)
		}
	}
	for _, c := range []struct{ text, says string }{
		{"runner.length", "write it as"},
		{"runner.length=", "write it as"},
		{"runner.length=350", `write it like "280.0 mm"`},
		{"runner.length=350 kPa", "no unit of length"},
		{"runner.length=10%", "write +10% or -10%"},
		{"runner.length=+x%", "no share"},
		{"runner.length=3 m", "out of reach"},
		{"runner.length=-1 m", "runner length: -720.0 mm is out of reach"},
		{"cam.duration=+170 °", "out of reach"},
		{"bore=90mm", "use one of"},
		{"runner.length=350mm,cam.duration=+5deg", "more than one change"},
	} {
		if _, err := ParseSet(c.text, tied); !errors.Is(err, ErrSetting) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want it to say %q", c.text, err, c.says)
		}
	}
	sets, err := ParseSets([]string{"compression=11", "runner.length=0.3 m", "compression=12"}, tied)
	if err != nil || len(sets) != 2 || sets[0].To != 12 {
		t.Errorf("the later of two wins: %+v, %v", sets, err)
	}
	card := one()
	card.Inlet.ThrottleBore = 0
	bare, err := TieCard(card)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ParseSet("throttle.bore=60mm", bare); !errors.Is(err, ErrSetting) || !strings.Contains(err.Error(), "throttle_bore") {
		t.Errorf("no throttle: %v", err)
	}
}

// No text makes the reader panic, and what it reads is within reach.
func FuzzParseSet(f *testing.F) {
	for _, s := range []string{"runner.length=350mm", "compression=+5%", "cam.lift=−1 mm", "=", "a=b=c", "runner.length=\x00"} {
		f.Add(s)
	}
	tied := oneTied(f)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := ParseSet(text, tied)
		if err == nil && (math.IsNaN(s.To) || s.To <= 0 && s.Setting.Dim.Name != unit.Angle.Name) {
			t.Errorf("%q gave %g", text, s.To)
		}
		if err != nil && !errors.Is(err, ErrSetting) {
			t.Errorf("%q: %v is of no kind", text, err)
		}
	})
}

// The valve's way to the piston against the closed form: with square lobes of zero duration nothing comes closer; a lobe moved towards
// top centre does, by what its lift gained at the closest angle.
func TestClearance(t *testing.T) {
	tied := oneTied(t)
	say := func(sets ...string) string {
		ss, err := ParseSets(sets, tied)
		if err != nil {
			t.Fatal(err)
		}
		return strings.Join(Cautions(tied, ss, nil, nil), "\n")
	}
	if s := say("cam.intake_centre=+5 °", "cam.exhaust_centre=+5 °"); strings.Contains(s, "Valve to piston") {
		t.Errorf("both lobes away from top centre: %s", s)
	}
	if s := say("cam.intake_centre=-5 °"); !strings.Contains(s, "the intake valve comes up to") || strings.Contains(s, "the exhaust valve") {
		t.Errorf("intake towards top centre: %s", s)
	}
	if s := say("cam.exhaust_centre=-5 °"); !strings.Contains(s, "the exhaust valve comes up to") || strings.Contains(s, "the intake valve") {
		t.Errorf("exhaust towards top centre: %s", s)
	}
	// 10.5 to 11.5 takes V_d/9.5 − V_d/10.5 of the clearance: 0.89 mm of an 89 mm stroke.
	want := 89.0/9.5 - 89.0/10.5
	if s := say("compression=11.5"); !strings.Contains(s, "up to 0.9 mm closer") || math.Abs(want-0.892) > 1e-3 || !strings.Contains(s, "Detonation") {
		t.Errorf("compression: %s", s)
	}
	if s := say("compression=-0.5"); strings.Contains(s, "Detonation") || strings.Contains(s, "Valve to piston") {
		t.Errorf("compression lowered: %s", s)
	}
	if s := say("cam.duration=+8 °"); !strings.Contains(s, "Valve gear") {
		t.Errorf("duration: %s", s)
	}
	if s := say("plenum.volume=+20%"); s == "" || strings.Contains(s, "Valve") || !strings.Contains(s, "Law:") {
		t.Errorf("plenum: %s", s)
	}
	if s := Cautions(tied, nil, nil, nil); len(s) != 0 {
		t.Errorf("nothing changed: %v", s)
	}
}

// Mixture is spoken of from one per cent of air on.
func TestMixtureCaution(t *testing.T) {
	old := []Point{{Speed: 3000, AirFlow: 0.1}, {Speed: 4000, AirFlow: 0.1}}
	if s := mixture(old, []Point{{Speed: 3000, AirFlow: 0.1005}, {Speed: 4000, AirFlow: 0.0995}}); s != "" {
		t.Error(s)
	}
	if s := mixture(old, []Point{{Speed: 3000, AirFlow: 0.1005}, {Speed: 4000, AirFlow: 0.094}}); !strings.Contains(s, "6 % less air") || !strings.Contains(s, "4000 rpm") {
		t.Error(s)
	}
}

// A change says where it leaves what was measured, and only there.
func TestExtrapolation(t *testing.T) {
	tied := oneTied(t)
	peak, _ := tied.Engine.Intake.Peak()
	measured := tied
	measured.Closures = []Closure{{Opening: "runner 1"}}
	measured.Card.Inlet.ThrottlePiece = "body"
	measured.Engine = tied.Engine.With(func(e *engine.Engine) {
		e.In.Measured = []engine.FlowPoint{{Lift: peak / 2, Area: 4e-4}, {Lift: peak * 1.05, Area: 6e-4}}
	})
	for _, c := range []struct {
		t    Tied
		set  string
		want string // one caution holds it; empty: none
	}{
		{tied, "runner.length=+20%", ""},
		{measured, "runner.length=+5%", "runners up to 5 % off those that were flowed"},
		{measured, "runner.length=+20%", "before metal is cut"},
		{measured, "throttle.bore=-10%", "10 % off the one that was flowed"},
		{tied, "throttle.bore=-10%", ""},
		{measured, "cam.lift=+4%", ""},
		{measured, "cam.lift=+10%", "Beyond that its flow is taken to stay"},
		{tied, "cam.lift=+10%", ""},
		{measured, "compression=+1", ""},
		{measured, "compression=+4", "Far out: compression ratio"},
		{tied, "plenum.volume=+150%", "Far out: plenum volume"},
	} {
		sets, err := ParseSets([]string{c.set}, c.t)
		if err != nil {
			t.Fatal(err)
		}
		e, err := Make(c.t, sets)
		if err != nil {
			t.Fatal(err)
		}
		got := extrapolation(c.t, e, sets)
		if c.want == "" && len(got) > 0 || c.want != "" && (len(got) != 1 || !strings.Contains(got[0], c.want)) {
			t.Errorf("%s: %q, wanted %q", c.set, got, c.want)
		}
	}
}

// The Mach number against the isentropic table: A/A* = 2 at M = 0.3059 (subsonic), NACA Report 1135 (1953), table I; the flow that
// just chokes has M = 1.
func TestMachOf(t *testing.T) {
	const p, temp = 101325., 293.15
	choked := p / math.Sqrt(dryConstant*temp) * math.Sqrt(dryGamma) * math.Pow(1.2, -3)
	if m, ok := machOf(choked*0.001/2, 0.001, p, temp); !ok || math.Abs(m-0.3059) > 5e-5 {
		t.Errorf("A/A* = 2: M = %.5f", m)
	}
	if m, ok := machOf(choked*0.001*1.0001, 0.001, p, temp); ok || m != 1 {
		t.Errorf("more than chokes: %g %v", m, ok)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.Float64Range(0.001, 0.999).Draw(t, "share of the choked flow")
		m, ok := machOf(choked*0.001*f, 0.001, p, temp)
		back := math.Sqrt(dryGamma) * m * math.Pow(1+0.2*m*m, -3) / (math.Sqrt(dryGamma) * math.Pow(1.2, -3))
		if !ok || math.Abs(back-f) > 1e-9 {
			t.Fatalf("%g of the choked flow: M = %g gives %g", f, m, back)
		}
	})
}

// The passage as the page draws it: volume of mean section and length; a measured shape is followed.
func TestPassageArea(t *testing.T) {
	tied := oneTied(t)
	a := PassageArea(tied.Engine, 1)
	for _, c := range []struct{ x, d float64 }{{0, 0.044}, {0.28, 0.040}, {0.14, 0.042}, {0.37, 0.036}} {
		if got := 2 * math.Sqrt(a(c.x)/math.Pi); math.Abs(got-c.d) > 1e-12 {
			t.Errorf("at %g m: %g m wide, want %g", c.x, got, c.d)
		}
	}
}

// A what-if is the difference of two pulls, each as it is on its own within what settling leaves, and its band holds it.
func TestTry(t *testing.T) {
	tied := oneTied(t)
	speeds := []float64{3500. / 60, 5500. / 60}
	set, err := ParseSets([]string{"runner.length=450 mm"}, tied)
	if err != nil {
		t.Fatal(err)
	}
	w, err := Try(t.Context(), tied, set, speeds, engine.CoarseMesh, nil)
	if err != nil {
		t.Fatal(err)
	}
	e, err := Make(tied, set)
	if err != nil {
		t.Fatal(err)
	}
	alone, err := engine.Pull(t.Context(), e, speeds, engine.Options{Mesh: engine.CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range w.Change {
		if c.TorqueLo > c.Torque || c.TorqueHi < c.Torque || math.Abs(c.Torque-(w.New[i].Torque-w.Old[i].Torque)) > 1e-9 {
			t.Errorf("change %+v between %g and %g", c, w.Old[i].Torque, w.New[i].Torque)
		}
		if math.Abs(w.New[i].Torque/alone[i].Torque-1) > 0.006 {
			t.Errorf("%.0f rpm: %.2f N·m in the what-if, %.2f N·m alone", c.Speed, w.New[i].Torque, alone[i].Torque)
		}
	}
	if c := w.Change[1]; c.Torque < 1 || c.TorqueLo < 0 {
		t.Errorf("at 5500 rpm the longer runner gives %+.2f (%+.2f to %+.2f) N·m", c.Torque, c.TorqueLo, c.TorqueHi)
	}
	if len(w.Set) != 1 || w.Set[0].From != 0.28 || w.Set[0].To != 0.45 || w.Set[0].Unit != "m" || len(w.Cautions) == 0 || len(w.Assumed) == 0 {
		t.Errorf("%+v %v", w.Set, w.Cautions)
	}
}

// The air demand of a pull: means and peaks in the proportion of the closed forms, sections in the order of their areas, a throttle whose
// advice contains its own bore, guides beside the pull.
func TestAsk(t *testing.T) {
	tied := oneTied(t)
	d, err := Ask(t.Context(), tied, []float64{3000. / 60, 5000. / 60}, engine.CoarseMesh, 1000, nil)
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range d.Speeds {
		// Mean over the cycle η·ρ·V_d·n/2 and peak π·η·ρ·V_d·n: the peak is 2π means. The pull's own air is moist or dry as the card says.
		if r := q.Draught / q.Runner; math.Abs(r/(2*math.Pi)-1) > 0.005 {
			t.Errorf("%.0f rpm: the peak is %.4f means", q.Speed, r)
		}
		if len(q.Sections) != 3 || !(q.Sections[0].Mach < q.Sections[1].Mach && q.Sections[1].Mach < q.Sections[2].Mach) {
			t.Errorf("%.0f rpm: %+v", q.Speed, q.Sections)
		}
		if q.Loss <= 0 || math.Abs(q.LossRel*tied.Engine.Air.Pressure/q.Loss-1) > 1e-12 {
			t.Errorf("%.0f rpm: loss %g Pa, %g", q.Speed, q.Loss, q.LossRel)
		}
	}
	if d.Throttle == nil || d.Throttle.Smallest == 0 {
		t.Fatalf("throttle %+v", d.Throttle)
	}
	for i, b := range d.Throttle.Bores {
		if b.Bore == 0.040 && math.Abs(b.Loss/d.Speeds[1].Loss-1) > 1e-9 {
			t.Errorf("the body as it is loses %g Pa at most, its own line says %g", d.Speeds[1].Loss, b.Loss)
		}
		if (b.Loss <= 1000 && !b.Choked) != (b.Bore >= d.Throttle.Smallest) {
			t.Errorf("bore %d: %+v against the smallest %g", i, b, d.Throttle.Smallest)
		}
	}
	for _, g := range d.Tuned {
		if g.Speed <= 0 || math.Abs(g.Disagree-(g.Speed/g.Pull-1)) > 1e-3 || g.Source == "" {
			t.Errorf("%+v", g)
		}
	}
	if d.Peak.Pull <= 0 || math.Abs(d.Peak.Disagree-(d.Peak.Guide/d.Peak.Pull-1)) > 1e-12 {
		t.Errorf("%+v", d.Peak)
	}
}

// An engine with a throttle to every runner has no plenum to change, and its throttle meets the peak of one cylinder.
func TestIndividual(t *testing.T) {
	card := one()
	card.Inlet.Layout, card.Inlet.DuctLength = "individual", 0
	tied, err := TieCard(card)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := ParseSet("plenum.volume=2 L", tied); !errors.Is(err, ErrSetting) || !strings.Contains(err.Error(), "no plenum") {
		t.Errorf("plenum: %v", err)
	}
	p := engine.Point{Speed: 50, VE: 0.9, AirFlow: 0.01}
	air, _, ok := throttleFlow(tied.Engine, p)
	if !ok || math.Abs(air.Mass/draught(tied.Engine, p)-1) > 1e-12 {
		t.Errorf("asked of one throttle: %+v", air)
	}
}
