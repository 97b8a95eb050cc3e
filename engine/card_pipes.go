package engine

import (
	"fmt"
	"math"
	"strings"

	"runnel/job"
	"runnel/unit"
)

// runnersOf sets the runners and the port.
func (e *Engine) runnersOf(c job.InletCard, in *Inlet, a *assumer) error {
	n := len(e.Phases)
	exit := c.RunnerExit
	a.take(&exit, math.Sqrt(0.8*float64(e.In.Count))*e.In.Seat.Head, "runner %.4g mm wide at the head face", 1e3)
	entry := c.RunnerEntry
	if entry == 0 {
		entry = exit
		a.say("runner as wide at its mouth as at the head face")
	}
	if c.PortLength > 0 && c.PortBore == 0 {
		in.PortBore = exit
	}
	lengths := make([]float64, n)
	for i := range lengths {
		lengths[i] = c.RunnerLength
	}
	if len(c.RunnerLengths) > 0 {
		if len(c.RunnerLengths) != n {
			return fmt.Errorf("%w: %d runner lengths for %d cylinders", ErrEngine, len(c.RunnerLengths), n)
		}
		for i, s := range c.RunnerLengths {
			v, err := unit.Length.Parse(s)
			if err != nil {
				return fmt.Errorf("%w: runner length of cylinder %d: %w", ErrEngine, i+1, err)
			}
			lengths[i] = v
		}
	}
	for i, l := range lengths {
		if l <= 0 {
			return fmt.Errorf("%w: runner length of cylinder %d is not given: write runner_length, like \"300 mm\", under [engine.inlet]", ErrEngine, i+1)
		}
		in.Runners = append(in.Runners, Runner{Length: l, Entry: entry, Exit: exit})
	}
	return nil
}

// outletOf sets the exhaust.
func (e *Engine) outletOf(card job.Engine, a *assumer) {
	c := card.Outlet
	out := Outlet{
		Direct: c.Direct, PortLength: c.PortLength, PortBore: c.PortBore, Length: c.PrimaryLength, Bore: c.PrimaryBore,
		Collectors: c.Collectors, TailLength: c.CollectorLength, TailBore: c.CollectorBore, Back: c.BackPressure, WallTemp: c.WallTemp,
	}
	e.Outlet = out
	if c.Direct {
		return
	}
	valve := math.Sqrt(float64(e.Out.Count)) * e.Out.Seat.Head
	a.takeWall(&out.WallTemp, defaultExhaustWall, "exhaust")
	if out.PortLength > 0 && out.PortBore == 0 {
		out.PortBore = 0.92 * valve
	}
	out.Wall = wallFriction(0, 2*defaultRoughness, card)
	if c.PrimaryLength == 0 {
		out.Simple = true
		out.Length, out.Collectors = hotPrimary, 0
		what := "no primary pipes described"
		if out.TailLength > 0 || out.TailBore > 0 || c.Collectors > 0 {
			what += ", so the collector is left out, too"
		}
		if out.Bore == 0 {
			out.Bore = 1.05 * valve
		}
		a.say("%s: each exhaust port leads to the open through a pipe %.4g mm long and %.3g mm wide", what, out.Length*1e3, out.Bore*1e3)
		e.Outlet = out
		return
	}
	a.take(&out.Bore, 1.05*valve, "primary pipes %.3g mm wide", 1e3)
	if card.Cylinders > 1 {
		if out.Collectors == 0 {
			out.Collectors = 1
			if card.Cylinders > 4 {
				out.Collectors = 2
			}
		}
		a.take(&out.TailLength, 0.5, "pipe behind the collector %.3g mm long", 1e3)
		a.take(&out.TailBore, 1.5*out.Bore, "pipe behind the collector %.3g mm wide", 1e3)
	} else {
		out.Collectors = 0
	}
	e.Outlet = out
}

// lossesOf sets burn, heat and friction.
func (e *Engine) lossesOf(card job.Engine, a *assumer) {
	b := card.Burn
	e.Burn = Burn{CA50: b.CA50, Duration: b.Duration, Start: b.Start, M: b.Shape, Complete: b.Complete}
	if e.Burn.M == 0 {
		e.Burn.M = WiebeM
	}
	if e.Burn.Complete == 0 {
		e.Burn.Complete = DefaultComplete
	}
	if !card.Motored {
		if b.Complete == 0 {
			a.say("%.0f %% of the heat within reach set free by the burn", 100*DefaultComplete)
		}
		if e.Burn.CA50 == 0 && e.Burn.Start == 0 {
			e.Burn.CA50 = DefaultCA50
			a.say("half of the charge burned %.0f° after top centre: best timing", DefaultCA50*180/math.Pi)
		}
		if b.Duration == 0 {
			a.say("duration of burn by a default that grows slowly with speed")
		}
	}
	e.Heat = Heat{WallTemp: card.Heat.WallTemp, Multiplier: card.Heat.Multiplier}
	switch {
	case card.NoHeat:
		e.Heat.Model = NoHeat
	case card.Heat.Model == "hohenberg":
		e.Heat.Model = Hohenberg
	}
	if e.Heat.Multiplier == 0 {
		e.Heat.Multiplier = 1
	}
	if !card.NoHeat {
		a.takeWall(&e.Heat.WallTemp, defaultCylinderWall, "cylinder")
	}
	f := card.Friction
	if f.Model == "patton" {
		e.Friction = Friction{Model: Patton, Build: FillPatton(PattonBuild{
			Bore: card.Bore, Stroke: card.Stroke,
			Cylinders: card.Cylinders, CompressionRatio: card.CompressionRatio,
		})}
		a.say("bearings in usual proportion to the bore")
		return
	}
	e.Friction = Friction{Fit: ChenFlynnFit{A: f.A, B: f.B, C: f.C, D: f.D}}
	fit, usual := &e.Friction.Fit, DefaultChenFlynn()
	var taken []string
	for _, k := range []struct {
		name string
		v    *float64
		d    float64
	}{{"a", &fit.A, usual.A}, {"b", &fit.B, usual.B}, {"c", &fit.C, usual.C}, {"d", &fit.D, usual.D}} {
		if *k.v == 0 {
			*k.v = k.d
			taken = append(taken, k.name)
		}
	}
	switch len(taken) {
	case 0:
	case 4:
		a.say("friction by the usual constants of Chen and Flynn")
	default:
		a.say("friction: %s by the usual constants of Chen and Flynn", strings.Join(taken, ", "))
	}
}
