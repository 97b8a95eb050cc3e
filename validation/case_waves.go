package validation

import (
	"context"
	"fmt"
	"math"
	"strings"

	"runnel/wave"
	"runnel/wave/riemann"
)

// riemannCases are exact solutions; quantities that may be zero are scaled by the speed of sound on the left.
func riemannCases(b *book) error {
	solve := func(r record, gamma float64) (riemann.Solution, error) {
		return riemann.Exact(
			riemann.State{Rho: b.num(r, "rhoL"), U: b.num(r, "uL"), P: b.num(r, "pL"), Gamma: gamma},
			riemann.State{Rho: b.num(r, "rhoR"), U: b.num(r, "uR"), P: b.num(r, "pR"), Gamma: gamma})
	}
	for _, r := range b.rows("riemann_exact.csv") {
		s, err := solve(r, b.num(r, "gamma"))
		if err != nil {
			return fmt.Errorf("%s: %w", r["case"], err)
		}
		of := "flow duct and engine cases"
		if strings.HasPrefix(r["case"], "toro") {
			of = "Toro's five tests"
		}
		a := s.Left.SoundSpeed()
		b.compare("p* in "+of, s.P, b.num(r, "p_star"))
		b.compare("ρ* in "+of, s.RhoLeft, b.num(r, "rho_starL"))
		b.compare("ρ* in "+of, s.RhoRight, b.num(r, "rho_starR"))
		for _, v := range []struct {
			got    float64
			column string
		}{{s.U, "u_star"}, {s.LeftHead, "SL_head"}, {s.LeftTail, "SL_tail"}, {s.RightHead, "SR_head"}, {s.RightTail, "SR_tail"}} {
			b.compare("speeds over that of sound in "+of, v.got/a, b.num(r, v.column)/a)
		}
	}
	return nil
}

const (
	soundGamma = 1.4
	soundR     = 287.05
	soundP     = 101325.0
	small      = 10.0 // amplitude of an acoustic wave [Pa]: linear to 1e-4
)

// An ear counts the zero crossings of a signal.
type ear struct {
	read        func() float64
	last        float64
	steps       int
	first, done float64
	count       int
}

func (e *ear) watch(n *wave.Network, dt float64) {
	v := e.read()
	e.steps++
	if e.steps > 1 && (v > 0) != (e.last > 0) && e.last != v {
		at := n.Time() - dt*v/(v-e.last)
		if e.count == 0 {
			e.first = at
		}
		e.done = at
		e.count++
	}
	e.last = v
}

func (e *ear) frequency() float64 { return float64(e.count-1) / (2 * (e.done - e.first)) }

// acoustics lets pipes ring in the gas-dynamic scheme and compares the note with the closed form. The quick run takes every
// eleventh pipe.
func acoustics(ctx context.Context, b *book) error {
	gas := wave.ConstantGas(soundGamma, soundR)
	for i, r := range b.rows("acoustics.csv") {
		if err := ctx.Err(); err != nil {
			return err
		}
		name := "every pipe"
		if !b.full {
			name = "every eleventh pipe"
			if i%11 != 0 {
				continue
			}
		}
		if k := r["kind"]; !strings.HasPrefix(k, "open_open") && !strings.HasPrefix(k, "closed_open") {
			continue
		}
		f, err := b.ring(gas, r)
		if err != nil {
			return fmt.Errorf("row %s: %w", r["id"], err)
		}
		b.compare("frequency of a ringing pipe, "+name, f, b.num(r, "f_Hz"))
	}
	return nil
}

// ring starts a pipe in one of its modes and returns its frequency [Hz].
func (b *book) ring(gas *wave.Gas, r record) (float64, error) {
	kind, c, l, a, mode, want := r["kind"], b.num(r, "c_ms"), b.num(r, "L_m"), b.num(r, "a_m"), b.num(r, "n"), b.num(r, "f_Hz")
	d := wave.Duct{Name: kind, Length: l, Area: wave.Round(2 * a), Cells: 30 * int(mode)}
	closed := strings.HasPrefix(kind, "closed")
	if !closed {
		d.ExtendLeft = wave.EndCorrectionUnflanged(a)
		if strings.HasPrefix(kind, "open_open_flanged") {
			d.ExtendLeft = wave.EndCorrectionFlanged(a)
		}
	}
	d.ExtendRight = wave.EndCorrectionUnflanged(a)
	if kind == "closed_open_flanged" {
		d.ExtendRight = wave.EndCorrectionFlanged(a)
	}
	temp, k := c*c/(soundGamma*soundR), 2*math.Pi*want/c
	w := wave.NewBuilder(gas)
	p := w.PipeWith(d, func(x float64) wave.Fill {
		v := math.Sin(k * (x + d.ExtendLeft))
		if closed {
			v = math.Cos(k * (x + d.ExtendLeft))
		}
		q := 1 + small*v/soundP
		return wave.Fill{P: soundP * q, T: temp * math.Pow(q, (soundGamma-1)/soundGamma)}
	})
	room, probe := wave.NewRoom(gas, soundP, temp, 0), 0
	w.Join(&wave.Mouth{Pipe: p.Right(), Vessel: room})
	if closed {
		w.Join(&wave.Closed{Pipe: p.Left()})
	} else {
		w.Join(&wave.Mouth{Pipe: p.Left(), Vessel: room})
		probe = int(float64(d.Cells) / (2 * mode))
	}
	net, err := w.Build()
	if err != nil {
		return 0, err
	}
	e := &ear{read: func() float64 { return p.Cell(probe).P - soundP }}
	net.Watch(e.watch)
	if err := net.Advance(5 / want); err != nil {
		return 0, err
	}
	if e.count < 8 {
		return math.NaN(), nil
	}
	return e.frequency(), nil
}
