package plot_test

import (
	"math"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

// The fixtures are made up for the tests: round numbers and plain formulae, no measurement.

func match(mean, spread float64, odd int) assess.Match {
	m := assess.Match{Piece: "manifold", Mean: mean, SpreadRel: spread, SpreadLo: spread - 0.012, SpreadHi: spread + 0.012}
	for i := range 6 {
		dev := spread * (float64(i)/5 - 0.5)
		q := mean * (1 + dev)
		m.Runners = append(m.Runners, assess.MatchOpening{
			Opening: string(rune('1' + i)), Flow: q, Lo95: q * 0.996, Hi95: q * 1.004, N: 2, Dev: dev, Odd: i == odd,
		})
	}
	return m
}

func matchRows() []plot.MatchRow {
	return []plot.MatchRow{
		{Label: "As received", Match: match(0.100, 0.06, 0)},
		{Label: "Roughed", Match: match(0.104, 0.05, -1)},
		{Label: "Welded and blended", Match: match(0.103, 0.03, -1)},
		{Label: "Finished", Match: match(0.107, 0.02, -1)},
	}
}

func verdictRows() []plot.VerdictRow {
	v := func(ratio, half float64, word string) assess.Verdict {
		return assess.Verdict{Ratio: ratio, Lo95: ratio - half, Hi95: ratio + half, Word: word}
	}
	return []plot.VerdictRow{
		{Label: "All openings", Verdict: v(1.041, 0.005, "proven gain")},
		{Label: "Opening 1", Verdict: v(1.062, 0.009, "proven gain")},
		{Label: "Opening 2", Verdict: v(1.004, 0.008, "no proven change")},
		{Label: "Opening 3", Verdict: v(0.98, 0.009, "proven loss")},
		{Label: "Opening 4", Verdict: assess.Verdict{Refused: "entry differs"}},
	}
}

func pull() assess.Pull {
	var p assess.Pull
	for n := 2000.0; n <= 7000; n += 500 {
		x := (n - 4500) / 2500
		before, after := 240-60*x*x, 244-60*x*x+8*x
		p.Before = append(p.Before, assess.Point{Speed: n, Torque: before, TorqueLo: before - 12, TorqueHi: before + 12})
		p.After = append(p.After, assess.Point{Speed: n, Torque: after, TorqueLo: after - 12, TorqueHi: after + 12})
		d := after - before
		k := n * math.Pi / 30e3
		p.Change = append(p.Change, assess.Change{
			Speed: n, Torque: d, TorqueLo: d - 3, TorqueHi: d + 3, Power: d * k, PowerLo: (d - 3) * k, PowerHi: (d + 3) * k,
		})
	}
	return p
}

func trace() (job.Trace, assess.Reading) {
	tr := job.Trace{Channels: []job.Channel{{Name: "meter_dp", Unit: "inH2O"}}}
	for i := range 3000 {
		t := float64(i) / 100
		v := 249.08891 * (4 + 0.05*math.Sin(7*t) + 0.8*math.Exp(-t/3))
		if i == 1200 {
			v *= 1.5
		}
		tr.Time = append(tr.Time, t)
		tr.Channels[0].Values = append(tr.Channels[0].Values, v)
	}
	return tr, assess.Reading{Usable: true, SteadyFrom: 14, SteadyTo: 30}
}

// ducts is two cycles of plain waves; the exhaust valve is open over the end of the picture.
func ducts() []assess.Ducts {
	var out []assess.Ducts
	for i, state := range []string{"before", "after"} {
		d := assess.Ducts{State: state, Speed: 6000, Room: 101325, Opens: [2]float64{-20, 500}, Closes: [2]float64{240, 20}, Settled: true}
		for a := -180.0; a < 540; a += 8 {
			d.Angle = append(d.Angle, a)
			d.Intake = append(d.Intake, 101325+(8000+1000*float64(i))*math.Sin(a*math.Pi/90))
			d.Exhaust = append(d.Exhaust, 110000+20000*math.Cos(a*math.Pi/360))
		}
		out = append(out, d)
	}
	return out
}

// unequal is a pull whose first cylinder is filled better at the top and whose last is worse.
func unequal() []assess.Point {
	var out []assess.Point
	for n := 2000.0; n <= 7000; n += 1000 {
		p := assess.Point{Speed: n}
		for c := range 4 {
			p.Cylinders = append(p.Cylinders, assess.Cylinder{Number: c + 1, VE: 0.9 + 0.02*(1.5-float64(c))*(n-2000)/5000})
		}
		out = append(out, p)
	}
	return out
}

func waveMap() plot.WaveMap {
	m := plot.WaveMap{Ambient: 101325, Events: []plot.WaveEvent{{Name: "intake opens", Angle: 340}, {Name: "intake closes", Angle: 590}}}
	for i := range 25 {
		m.Position = append(m.Position, 0.35*float64(i)/24)
	}
	for k := range 73 {
		m.Angle = append(m.Angle, 10*float64(k))
	}
	for k := range 72 {
		row := make([]float64, 24)
		for i := range row {
			row[i] = 101325 + 9000*math.Sin(float64(k)/6)*math.Sin(math.Pi/48*(float64(i)+0.5))
		}
		m.Pressure = append(m.Pressure, row)
	}
	return m
}

func along(f func(u float64) float64) (x, v []float64) {
	for i := range 41 {
		u := float64(i) / 40
		x, v = append(x, 0.35*u), append(v, f(u))
	}
	return x, v
}

// figures is one of each kind of picture.
func figures() map[string]plot.Figure {
	p := pull()
	tr, r := trace()
	x, a0 := along(func(u float64) float64 { return 1.6e-3 - 3e-4*u })
	_, a1 := along(func(u float64) float64 { return 1.7e-3 - 3e-4*u })
	_, l0 := along(func(u float64) float64 { return 600 * min(1, 8*u) })
	_, l1 := along(func(u float64) float64 { return 900 * u })
	_, l2 := along(func(u float64) float64 { return 1500 * u * u })
	lift := func(k float64) (rs []assess.Reading) {
		for i := range 7 {
			l := 0.002 * float64(i+1)
			rs = append(rs, assess.Reading{Usable: i != 3, Lift: l, Flow: k * 0.1 * (1 - math.Exp(-l/0.005)), UExpandedRel: 0.012})
		}
		return rs
	}
	return map[string]plot.Figure{
		"match":       plot.Match(matchRows(), unit.Metric),
		"verdicts":    plot.Verdicts(verdictRows(), 0.005),
		"torque":      plot.Torque(p, unit.Metric),
		"power":       plot.Power(p, unit.US),
		"change":      plot.TorqueChange(p, unit.Metric),
		"powerchange": plot.PowerChange(p, unit.US),
		"trace":       plot.Trace(tr, "meter_dp", r),
		"budget": plot.Budget([]assess.BudgetLine{
			{Quantity: "settling", Share: 0.12, Kind: "A"}, {Quantity: "meter coefficient", Share: 0.61, Kind: "B"}, {Quantity: "set-up repeat", Share: 0.27, Kind: "B"},
		}),
		"restriction": plot.Restriction([]assess.Restriction{
			{State: "before", HoldsBack: "head", Pieces: []assess.RestrictionPiece{{Piece: "body", Share: 0.08}, {Piece: "manifold", Share: 0.4}, {Piece: "head", Share: 0.52}}},
			{State: "after", HoldsBack: "head", Pieces: []assess.RestrictionPiece{{Piece: "body", Share: 0.1}, {Piece: "manifold", Share: 0.31}, {Piece: "head", Share: 0.59}}},
		}, func(s string) string { return s }),
		"control": plot.ControlChart([]plot.CheckPoint{
			{Label: "3 May, before", Deviation: 0.002, Smoothed: 0.002},
			{Label: "3 May, after", Deviation: -0.003, Smoothed: 0.001},
			{Label: "9 May, before", Deviation: 0.013, Smoothed: 0.004},
		}, 0.01),
		"lift": plot.OverLift([]plot.LiftCurve{
			{Label: "before", Ink: plot.Before, Dash: true, Readings: lift(1)}, {Label: "after", Ink: plot.After, Readings: lift(1.05)},
		}, unit.Metric),
		"waves":   plot.Waves(waveMap(), unit.Metric),
		"intake":  plot.IntakePressure(ducts(), unit.Metric),
		"exhaust": plot.ExhaustPressure(ducts(), unit.US),
		"filling": plot.Filling(unequal()),
		"area": plot.AreaAlong([]plot.Profile{
			{Label: "before", Ink: plot.Before, Dash: true, Position: x, Value: a0}, {Label: "after", Ink: plot.After, Position: x, Value: a1},
		}, unit.US),
		"ledger": plot.LedgerAlong(x, []plot.LedgerPart{{Name: "entry", Loss: l0}, {Name: "friction", Loss: l1}, {Name: "bends", Loss: l2}}, unit.Metric),
	}
}
