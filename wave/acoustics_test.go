package wave

import (
	"math"
	"strings"
	"testing"

	"runnel/internal/tabletest"
)

// small is the amplitude of an acoustic test wave [Pa]: linear to 1e-4.
const small = 10.0

// period watches a signal and returns the frequency [Hz] from its zero
// crossings, from the second to the last of the wanted number.
type period struct {
	read  func() float64
	last  float64
	first float64
	ended float64
	count int
}

func (p *period) watch(n *Network, dt float64) {
	v := p.read()
	if n.steps > 1 && (v > 0) != (p.last > 0) && p.last != v {
		at := n.Time() - dt*v/(v-p.last)
		if p.count == 0 {
			p.first = at
		}
		p.ended = at
		p.count++
	}
	p.last = v
}

func (p *period) frequency() float64 { return float64(p.count-1) / (2 * (p.ended - p.first)) }

// TestPipeResonance: the pipes of acoustics.csv (closed forms with the end
// corrections of Levine & Schwinger and of a flanged end), started in a mode and left
// to ring, sound at the file's frequency within 0.5 %. Every eleventh row is
// run in short mode.
func TestPipeResonance(t *testing.T) {
	const p0, gamma, r = 101325, 1.4, 287.05
	gas := ConstantGas(gamma, r)
	worst, run := 0.0, 0
	for i, w := range tabletest.Read(t, "testdata/acoustics.csv", 1) {
		kind := w["kind"]
		if !strings.HasPrefix(kind, "open_open") && !strings.HasPrefix(kind, "closed_open") {
			continue
		}
		if testing.Short() && i%11 != 0 {
			continue
		}
		run++
		c, l, a, mode, want := w.Num(t, "c_ms"), w.Num(t, "L_m"), w.Num(t, "a_m"), w.Num(t, "n"), w.Num(t, "f_Hz")
		d := Duct{Name: kind, Length: l, Area: Round(2 * a), Cells: 30 * int(mode)}
		switch kind {
		case "open_open_unflanged_both":
			d.ExtendLeft, d.ExtendRight = EndCorrectionUnflanged(a), EndCorrectionUnflanged(a)
		case "open_open_flanged_unflanged":
			d.ExtendLeft, d.ExtendRight = EndCorrectionFlanged(a), EndCorrectionUnflanged(a)
		case "closed_open_unflanged":
			d.ExtendRight = EndCorrectionUnflanged(a)
		case "closed_open_flanged":
			d.ExtendRight = EndCorrectionFlanged(a)
		default:
			t.Fatalf("unknown kind %q", kind)
		}
		if extra := w.Num(t, "extra_m"); math.Abs(d.ExtendLeft+d.ExtendRight-extra) > 1e-9 {
			t.Fatalf("row %d: end corrections %g m, file %g m", i, d.ExtendLeft+d.ExtendRight, extra)
		}
		temp := c * c / (gamma * r)
		k := 2 * math.Pi * want / c
		closed := strings.HasPrefix(kind, "closed")
		b := NewBuilder(gas)
		p := b.PipeWith(d, func(x float64) Fill {
			s := x + d.ExtendLeft
			v := math.Sin(k * s)
			if closed {
				v = math.Cos(k * s)
			}
			q := 1 + small*v/p0
			return Fill{P: p0 * q, T: temp * math.Pow(q, (gamma-1)/gamma)}
		})
		room := NewRoom(gas, p0, temp, 0)
		probe := 0
		b.Join(&Mouth{Pipe: p.Right(), Vessel: room})
		if closed {
			b.Join(&Closed{p.Left()})
		} else {
			b.Join(&Mouth{Pipe: p.Left(), Vessel: room})
			probe = int(float64(d.Cells) / (2 * mode))
		}
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		ear := &period{read: func() float64 { return p.Cell(probe).P - p0 }}
		net.Watch(ear.watch)
		if err := net.Advance(5 / want); err != nil {
			t.Fatal(err)
		}
		dev := ear.frequency()/want - 1
		worst = max(worst, math.Abs(dev))
		if math.Abs(dev) > 5e-3 || ear.count < 8 {
			t.Errorf("row %d %s n=%g: %.3f Hz, want %.3f (%.2f %%)", i, kind, mode, ear.frequency(), want, 100*dev)
		}
	}
	t.Logf("%d pipes, worst deviation %.3f %%", run, 100*worst)
}

// TestHelmholtz: a volume on a neck rings at the frequency of acoustics.csv
// within 0.5 %: the exact roots for a neck with distributed mass, and the
// lumped form where the neck is small beside the volume (its own error is
// about A·L/(6V), 0.3 % for those rows; the other lumped rows have a neck as
// large as the volume and are not one-dimensional acoustics).
func TestHelmholtz(t *testing.T) {
	const p0, gamma, r = 101325, 1.4, 287.05
	gas := ConstantGas(gamma, r)
	run := 0
	for i, w := range tabletest.Read(t, "testdata/acoustics.csv", 1) {
		if !strings.HasPrefix(w["kind"], "helmholtz") {
			continue
		}
		c, l, area, vol, want, mode := w.Num(t, "c_ms"), w.Num(t, "L_m"), w.Num(t, "A_m2"), w.Num(t, "V_m3"), w.Num(t, "f_Hz"), w.Num(t, "n")
		extra := w.Num(t, "extra_m")
		if w["kind"] != "helmholtz_finite_neck_distributed" && area*l/vol > 0.1 {
			continue
		}
		run++
		temp := c * c / (gamma * r)
		k := 2 * math.Pi * want / c
		b := NewBuilder(gas)
		fill := func(s float64) Fill {
			q := 1 + small*math.Sin(k*s)/p0
			return Fill{P: p0 * q, T: temp * math.Pow(q, (gamma-1)/gamma)}
		}
		p := b.PipeWith(Duct{Name: "neck", Length: l, Area: Uniform(area), Cells: 40, ExtendLeft: extra},
			func(x float64) Fill { return fill(x + extra) })
		f := fill(l + extra)
		v := NewVolume(gas, vol, f.P, f.T, 0)
		b.Join(&Mouth{Pipe: p.Left(), Vessel: NewRoom(gas, p0, temp, 0)}, &Mouth{Pipe: p.Right(), Vessel: v})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		ear := &period{read: func() float64 { return v.Now().P - p0 }}
		net.Watch(ear.watch)
		if err := net.Advance(6 / want); err != nil {
			t.Fatal(err)
		}
		dev := ear.frequency()/want - 1
		t.Logf("row %d %s n=%g: %.3f Hz, want %.3f (%+.3f %%)", i, w["kind"], mode, ear.frequency(), want, 100*dev)
		if math.Abs(dev) > 5e-3 || ear.count < 8 {
			t.Errorf("row %d %s: %.3f Hz, want %.3f (%.2f %%)", i, w["kind"], ear.frequency(), want, 100*dev)
		}
	}
	if run < 7 {
		t.Errorf("only %d rows run", run)
	}
}

// TestCavityAndNeck: a closed wide pipe with an open narrow one, joined by a
// sudden step: the roots of tan(kL)·tan(kLc) = A/Ac in acoustics.csv, within
// 0.5 %. The losses of the step vanish at small amplitude.
func TestCavityAndNeck(t *testing.T) {
	const p0, gamma, r = 101325, 1.4, 287.05
	gas := ConstantGas(gamma, r)
	run := 0
	for i, w := range tabletest.Read(t, "testdata/acoustics.csv", 1) {
		if w["kind"] != "closed_cavity_plus_open_neck_1d" {
			continue
		}
		run++
		c, l, area, lc, want := w.Num(t, "c_ms"), w.Num(t, "L_m"), w.Num(t, "A_m2"), w.Num(t, "extra_m"), w.Num(t, "f_Hz")
		wide := w.Num(t, "V_m3") / lc
		temp := c * c / (gamma * r)
		k := 2 * math.Pi * want / c
		fill := func(v float64) Fill {
			q := 1 + small*v/p0
			return Fill{P: p0 * q, T: temp * math.Pow(q, (gamma-1)/gamma)}
		}
		b := NewBuilder(gas)
		// Open end at x = 0 of the neck; continuous pressure at the step.
		at := math.Sin(k*l) / math.Cos(k*lc)
		neck := b.PipeWith(Duct{Name: "neck", Length: l, Area: Uniform(area), Cells: 60}, func(x float64) Fill { return fill(math.Sin(k * x)) })
		cav := b.PipeWith(Duct{Name: "cavity", Length: lc, Area: Uniform(wide), Cells: 50}, func(x float64) Fill { return fill(at * math.Cos(k*(lc-x))) })
		b.Join(&Mouth{Pipe: neck.Left(), Vessel: NewRoom(gas, p0, temp, 0)}, &AreaStep{A: neck.Right(), B: cav.Left()}, &Closed{cav.Right()})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		ear := &period{read: func() float64 { return cav.Cell(49).P - p0 }}
		net.Watch(ear.watch)
		if err := net.Advance(6 / want); err != nil {
			t.Fatal(err)
		}
		dev := ear.frequency()/want - 1
		t.Logf("row %d: %.3f Hz, want %.3f (%+.3f %%)", i, ear.frequency(), want, 100*dev)
		if math.Abs(dev) > 5e-3 || ear.count < 8 {
			t.Errorf("row %d: %.3f Hz, want %.3f", i, ear.frequency(), want)
		}
	}
	if run == 0 {
		t.Error("no row run")
	}
}

// pulse fills a pipe with a right-running acoustic pulse of a given width [m].
func pulse(p0, t0, gamma, r, x0, width float64) func(x float64) Fill {
	w := simpleWave{p0: p0, t0: t0, gamma: gamma, r: r, rise: small / p0, x0: x0, width: width}
	return func(x float64) Fill { return w.at(x, 0) }
}

// TestReflection: an acoustic pulse meets a sudden area step, and one pipe
// opens into n alike: R = (1−r)/(1+r), T = 2/(1+r) with r = A₂/A₁, or
// R = (1−n)/(1+n) (plane waves at a junction: any textbook of acoustics, from
// continuity of pressure and volume flow), each within 1 %. A
// closed end returns the pulse whole, an open one upside down.
func TestReflection(t *testing.T) {
	const p0, t0, gamma, r = 101325, 293.15, 1.4, 287.05
	gas := ConstantGas(gamma, r)
	room := NewRoom(gas, p0, t0, 0)
	for _, c := range []struct {
		name           string
		n              int     // pipes beyond
		ratio          float64 // area of each over the first
		reflect, trans float64
		join           func(in *Pipe, out []*Pipe) Joint
	}{
		{"step r=2", 1, 2, -1. / 3, 2. / 3, func(in *Pipe, out []*Pipe) Joint { return &AreaStep{A: in.Right(), B: out[0].Left()} }},
		{"step r=4", 1, 4, -0.6, 0.4, func(in *Pipe, out []*Pipe) Joint { return &AreaStep{A: in.Right(), B: out[0].Left()} }},
		{"step r=1/2", 1, 0.5, 1. / 3, 4. / 3, func(in *Pipe, out []*Pipe) Joint { return &AreaStep{A: in.Right(), B: out[0].Left()} }},
		{"through a neck as wide as the pipe", 1, 1, 0, 1, func(in *Pipe, out []*Pipe) Joint {
			return &Neck{A: in.Right(), B: out[0].Left(), Opening: Fixed(1)}
		}},
		{"junction n=1", 1, 1, 0, 1, junctionOf},
		{"junction n=2", 2, 1, -1. / 3, 2. / 3, junctionOf},
		{"junction n=3", 3, 1, -0.5, 0.5, junctionOf},
		{"closed end", 0, 1, 1, 0, func(in *Pipe, _ []*Pipe) Joint { return &Closed{in.Right()} }},
		{"open end", 0, 1, -1, 0, func(in *Pipe, _ []*Pipe) Joint { return &Mouth{Pipe: in.Right(), Vessel: room} }},
	} {
		b := NewBuilder(gas)
		const length, n = 2.0, 200
		in := b.PipeWith(Duct{Name: "in", Length: length, Area: Uniform(1e-3), Cells: n}, pulse(p0, t0, gamma, r, 1, 0.2))
		var out []*Pipe
		for range c.n {
			o := b.Pipe(Duct{Name: "out", Length: length, Area: Uniform(1e-3 * c.ratio), Cells: n}, p0, t0, 0)
			b.Join(&Mouth{Pipe: o.Right(), Vessel: room})
			out = append(out, o)
		}
		b.Join(&Mouth{Pipe: in.Left(), Vessel: room}, c.join(in, out))
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		// One metre to the end and 0.9 m back.
		if err := net.Advance(1.9 / math.Sqrt(gamma*r*t0)); err != nil {
			t.Fatal(err)
		}
		got := peak(in, p0) / small
		if math.Abs(got-c.reflect) > 0.01 {
			t.Errorf("%s: reflected %.4f, want %.4f", c.name, got, c.reflect)
		}
		t.Logf("%s: reflected %+.4f (%+.4f)", c.name, got, c.reflect)
		for _, o := range out {
			tr := peak(o, p0) / small
			t.Logf("%s: passed on %+.4f (%+.4f)", c.name, tr, c.trans)
			if math.Abs(tr-c.trans) > 0.01 {
				t.Errorf("%s: passed on %.4f, want %.4f", c.name, tr, c.trans)
			}
		}
	}
}

func junctionOf(in *Pipe, out []*Pipe) Joint {
	j := &Junction{Pipes: []End{in.Right()}}
	for _, o := range out {
		j.Pipes = append(j.Pipes, o.Left())
	}
	return j
}

// peak returns the largest deviation of the pressure from p0 [Pa], with its sign.
func peak(p *Pipe, p0 float64) float64 {
	v := 0.0
	for i := range p.Cells() {
		if d := p.Cell(i).P - p0; math.Abs(d) > math.Abs(v) {
			v = d
		}
	}
	return v
}

// TestSimpleWaveSpeed: a level of pressure in a wave of finite height moves at
// a₀·((γ+1)X − 2)/(γ−1), X = (p/p₀)^((γ−1)/2γ), and the gas there at
// 2a₀(X − 1)/(γ−1) (Earnshaw, Phil. Trans. 150 (1860) 133, in the notation of
// Riemann invariants); from these equations, outside this code, for a₀ = 343.232 m/s:
// 1.2: 397.575 and 45.286 m/s; 0.8: 278.619 and −53.844; 1.5: 466.042 and
// 102.342. The place is read by straight interpolation between cells, good to
// a tenth of a cell in 60 cells of travel: 0.2 % is asked.
func TestSimpleWaveSpeed(t *testing.T) {
	const p0, t0, gamma, r = 101325, 293.15, 1.4, 287.05
	gas := ConstantGas(gamma, r)
	for _, c := range []struct{ ratio, speed, u float64 }{{1.2, 397.575, 45.286}, {0.8, 278.619, -53.844}, {1.5, 466.042, 102.342}} {
		// The crest stands a quarter above the level that is followed.
		w := simpleWave{p0: p0, t0: t0, gamma: gamma, r: r, rise: 1.25 * (c.ratio - 1), x0: 0.7, width: 0.3}
		b := NewBuilder(gas)
		p := b.PipeWith(Duct{Name: "tube", Length: 2, Area: Round(0.04), Cells: 400}, func(x float64) Fill { return w.at(x, 0) })
		b.Join(&through{p.Left()}, &through{p.Right()})
		net, err := b.Build()
		if err != nil {
			t.Fatal(err)
		}
		const dt = 8e-4
		from, _ := levelAt(p, c.ratio*p0)
		if err := net.Advance(dt); err != nil {
			t.Fatal(err)
		}
		to, u := levelAt(p, c.ratio*p0)
		v := (to - from) / dt
		t.Logf("p/p0 = %g: level %.3f m/s (%.3f), gas %.3f m/s (%.3f)", c.ratio, v, c.speed, u, c.u)
		if math.Abs(v/c.speed-1) > 2e-3 || math.Abs(u/c.u-1) > 2e-3 {
			t.Errorf("p/p0 = %g: level %.3f m/s, gas %.3f m/s, want %.3f and %.3f", c.ratio, v, u, c.speed, c.u)
		}
	}
}

// levelAt returns place [m] and velocity [m/s] where the pressure first passes q [Pa].
func levelAt(p *Pipe, q float64) (x, u float64) {
	for i := range p.Cells() - 1 {
		a, b := p.Cell(i), p.Cell(i+1)
		if (a.P-q)*(b.P-q) <= 0 && a.P != b.P {
			f := (q - a.P) / (b.P - a.P)
			return a.X + f*(b.X-a.X), a.U + f*(b.U-a.U)
		}
	}
	return math.NaN(), math.NaN()
}
