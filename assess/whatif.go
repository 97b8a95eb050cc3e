package assess

import (
	"context"
	"fmt"
	"math"

	"runnel/engine"
	"runnel/job"
	"runnel/unit"
)

// A WhatIf is an engine before and after a change that has not been made.
type WhatIf struct {
	Title    string    `json:"title"`
	State    string    `json:"state"` // "before" or "after" the work of a job; empty for an engine file
	Set      []Changed `json:"set"`
	Old      []Point   `json:"old"`
	New      []Point   `json:"new"`
	Change   []Change  `json:"change"` // new less old, with its 95 % band
	Cautions []string  `json:"cautions"`
	Assumed  []string  `json:"assumed"`
	Warnings []string  `json:"warnings"`
}

// A Changed is one setting and what it was changed to.
type Changed struct {
	Name  string  `json:"name"`
	Title string  `json:"title"`
	From  float64 `json:"from"` // [SI, in Unit]
	To    float64 `json:"to"`   // [SI, in Unit]
	Unit  string  `json:"unit"` // SI unit of both
}

// Make returns the engine with the settings changed, in order. Error: those of engine.Engine.Check, which say what cannot be computed.
func Make(t Tied, sets []Set) (*engine.Engine, error) {
	e := t.Engine.With(changes(t.Engine, sets)...)
	return e, e.Check()
}

func changes(e *engine.Engine, sets []Set) []engine.Change {
	var out []engine.Change
	for _, s := range sets {
		out = append(out, s.Setting.make(e, s.From, s.To)...)
	}
	return out
}

// Try computes the engine as it is and with the settings changed, at the given speeds [rev/s] on a mesh [m], 0 for the usual one, and
// the band on the change: what is not known is drawn alike for both, so that it cancels as far as it does in truth. progress may be nil.
// Errors: as engine.Pull.
func Try(ctx context.Context, t Tied, sets []Set, speeds []float64, mesh float64, progress Progress) (WhatIf, error) {
	progress = quietly(progress)
	out := WhatIf{Title: t.Card.Title, State: t.State, Set: Changes(sets), Change: []Change{}, Cautions: []string{}, Assumed: append([]string{}, t.Assumed...), Warnings: append([]string{}, t.Warnings...)}
	e, err := Make(t, sets)
	if err != nil {
		return WhatIf{}, err
	}
	var ps [2][]engine.Point
	warm := &engine.Warm{}
	for k, x := range []*engine.Engine{t.Engine, e} {
		name := [2]string{"old", "new"}[k]
		progress("pull "+name, 0, len(speeds))
		ps[k], err = engine.Pull(ctx, x, speeds, engine.Options{Mesh: mesh, Warm: warm}, func(done, total int) { progress("pull "+name, done, total) })
		if err != nil {
			return WhatIf{}, err
		}
		for _, w := range PullWarnings(ps[k]) {
			out.Warnings = appendNew(out.Warnings, name+": "+w)
		}
	}
	out.Old, out.New = Points(ps[0]), Points(ps[1])
	progress("band", 0, 1)
	if out.Change, err = Gain(ctx, t, sets, out.Old, out.New); err != nil {
		return WhatIf{}, err
	}
	progress("band", 1, 1)
	out.Cautions = Cautions(t, sets, out.Old, out.New)
	return out, nil
}

// Gain returns the change from one pull to another of the engine with the settings changed, with its 95 % band, and puts the bands of
// the curves into the points. Errors: as engine.Bands.
func Gain(ctx context.Context, t Tied, sets []Set, old, after []Point) ([]Change, error) {
	opt := t.options()
	opt.Unknowns.ReadOwn = 0 // both are the same pieces, read once
	bands, err := t.fit.Bands(ctx, t.plain, t.plain.With(changes(t.plain, sets)...), torquesOf(old), torquesOf(after), opt)
	if err != nil {
		return nil, err
	}
	out := make([]Change, len(bands))
	for i, b := range bands {
		old[i].TorqueLo, old[i].TorqueHi = b.Before.Lo, b.Before.Hi
		after[i].TorqueLo, after[i].TorqueHi = b.After.Lo, b.After.Hi
		out[i] = changeOf(b)
	}
	return out, nil
}

// torquesOf returns what a band needs of a pull in its wire form.
func torquesOf(ps []Point) []engine.Point {
	out := make([]engine.Point, len(ps))
	for i, p := range ps {
		out[i] = engine.Point{Speed: p.Speed / 60, Torque: p.Torque}
	}
	return out
}

// Changes turns settings into their wire form.
func Changes(sets []Set) []Changed {
	out := []Changed{}
	for _, s := range sets {
		out = append(out, Changed{Name: s.Setting.Name, Title: s.Setting.Title, From: s.From, To: s.To, Unit: s.Setting.Dim.SI().Name})
	}
	return out
}

// changeOf returns the difference of one speed with its band. Two pulls that settled within a tolerance may differ by it without any
// cause, so the band is widened by that.
func changeOf(b engine.BandPoint) Change {
	settled := settleShare * math.Sqrt2 * b.After.Value
	lo := b.Gain.Value - math.Hypot(b.Gain.Value-b.Gain.Lo, settled)
	hi := b.Gain.Value + math.Hypot(b.Gain.Hi-b.Gain.Value, settled)
	w := 2 * math.Pi * b.Speed / 1e3
	return Change{
		Speed: round(b.Speed*60, 6), Torque: b.Gain.Value, TorqueLo: lo, TorqueHi: hi,
		Power: b.Gain.Value * w, PowerLo: lo * w, PowerHi: hi * w,
	}
}

// Cautions says what has to be looked at before a change is made: where it leaves what was measured, valve to piston clearance, detonation, mixture, valve gear, law.
// old and after are pulls at the same speeds.
func Cautions(t Tied, sets []Set, old, after []Point) []string {
	out := []string{}
	if len(sets) == 0 {
		return out
	}
	e := t.Engine.With(changes(t.Engine, sets)...)
	out = append(out, extrapolation(t, e, sets)...)
	out = append(out, clearance(t.Engine, e)...)
	touched := map[string]bool{}
	for _, s := range sets {
		touched[s.Setting.Name] = true
	}
	if touched["cam.duration"] || touched["cam.lift"] {
		out = append(out, "Valve gear: another lobe or lift asks more of springs, retainers, guides and followers. Check coil bind, retainer to guide clearance and float at the highest speed.")
	}
	if c := detonation(t, e); c != "" {
		out = append(out, c)
	}
	if c := mixture(old, after); c != "" {
		out = append(out, c)
	}
	return append(out, "Law: a changed intake, cam or compression can end a road vehicle's type approval and its emissions compliance. Run it on the road only where it is allowed.")
}

// near top centre the valves come closest to the piston.
const clearanceReach = 60 * degree

// clearance says how much closer the valves come to the piston, and how much nearer the head does.
func clearance(was, is *engine.Engine) (out []string) {
	// The head comes down by the clearance volume that is gone over the bore, when compression is raised by milling it.
	mill := (was.Crank.Clearance() - is.Crank.Clearance()) / was.Crank.PistonArea()
	side := func(name string, a, b *engine.Profile) {
		gapA, _ := closest(was.Crank, a)
		gapB, at := closest(was.Crank, b)
		if d := gapA - gapB + max(mill, 0); d > 5e-5 {
			where := fmt.Sprintf("%.0f° after top centre", at/degree)
			if at < 0 {
				where = fmt.Sprintf("%.0f° before top centre", -at/degree)
			}
			out = append(out, fmt.Sprintf("Valve to piston: the %s valve comes up to %.1f mm closer to the piston, closest %s (for a valve along the bore, the piston rising by what compression takes). Measure the clearance before the engine is turned.", name, d*1e3, where))
		}
	}
	side("intake", was.Intake, is.Intake)
	side("exhaust", was.Exhaust, is.Exhaust)
	return out
}

// closest returns the least of piston travel less valve lift near gas-exchange top centre [m], and its crank angle [rad].
func closest(c engine.Crank, p *engine.Profile) (gap, at float64) {
	gap = math.Inf(1)
	for k := range 241 {
		th := -clearanceReach + float64(k)*clearanceReach/120
		if g := c.Travel(th) - p.Lift(th); g < gap {
			gap, at = g, th
		}
	}
	return gap, at
}

// detonation warns of a raised compression ratio. Limits: common practice, no source.
func detonation(t Tied, e *engine.Engine) string {
	from, to := t.Engine.Crank.CompressionRatio, e.Crank.CompressionRatio
	if to <= from+1e-9 {
		return ""
	}
	limit := 11.0
	if n := t.Card.Fuel.Name; n != "" && n != "gasoline" {
		limit = 14
	}
	text := fmt.Sprintf("Detonation: compression goes from %.1f to %.1f. The pull does not know knock: it keeps best timing. Fuel, chamber, plug heat and timing decide whether the gain is there.", from, to)
	if to > limit {
		text += fmt.Sprintf(" Above about %.0f on this fuel most engines need less timing at low speed (common practice, no source).", limit)
	}
	return text
}

// mixture warns of another air demand.
func mixture(old, after []Point) string {
	most, at := 0.0, 0.0
	for i := range old {
		if i < len(after) && old[i].AirFlow > 0 {
			if d := after[i].AirFlow/old[i].AirFlow - 1; math.Abs(d) > math.Abs(most) {
				most, at = d, old[i].Speed
			}
		}
	}
	if math.Abs(most) < 0.01 {
		return ""
	}
	more := "more"
	if most < 0 {
		more = "less"
	}
	return fmt.Sprintf("Mixture: the engine asks for up to %.0f %% %s air (at %s). Fuel and timing have to follow; check the mixture before full load.", 100*math.Abs(most), more, rpm(at/60))
}

// ParseSets reads several settings for an engine; a later one of the same name wins over an earlier.
func ParseSets(texts []string, t Tied) ([]Set, error) {
	var out []Set
	for _, text := range texts {
		s, err := ParseSet(text, t)
		if err != nil {
			return nil, err
		}
		out = Put(out, s)
	}
	return out, nil
}

// Put adds a set, in the place of one of the same name.
func Put(sets []Set, s Set) []Set {
	for i := range sets {
		if sets[i].Setting.Name == s.Setting.Name {
			sets[i] = s
			return sets
		}
	}
	return append(sets, s)
}

// SpeedsOf returns the speeds of a pull [rev/s] from what was typed, else from the card. It is Speeds with a choice.
func SpeedsOf(card job.Engine, typed string) ([]float64, error) {
	if typed != "" {
		card.Speeds = typed
	}
	return Speeds(card)
}

// Styled is a value of a setting for people.
func (s Set) Styled(sys unit.System) (from, to string) {
	return s.Setting.Show(sys, s.From), s.Setting.Show(sys, s.To)
}
