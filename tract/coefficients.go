package tract

import (
	"fmt"
	"math"

	"runnel/passage"
)

func (ch *chain) addBends(bends []passage.Bend, st []passage.Station) {
	for i, b := range bends {
		mid := ch.find((b.From + b.To) / 2)
		p := ch.grid[mid]
		e := element{kind: kindBend, index: mid, place: mid, angle: b.Angle, radius: b.Radius, from: ch.find(b.From), to: ch.find(b.To)}
		near := nearest(st, p.At)
		if near.Shape != "round" && p.Width > 0 && p.Height > 0 {
			e.width, e.depth = p.Width, p.Height
			e.boxed = near.Shape == "rectangle" || p.Area > boxy*p.Width*p.Height
		}
		k := ch.bendLoss(e, p)
		ch.rows = append(ch.rows, Loss{
			Name: fmt.Sprintf("bend, %.0f° at %.2f bores", b.Angle*halfTurn, b.Radius/p.EquivalentDiameter()), Kind: kindBend, From: b.From, To: b.To,
			K: k.K, Lo: k.Lo, Hi: k.Hi, Section: p.Area, Source: k.Source,
		})
		ch.warnings = append(ch.warnings, k.Warnings...)
		if i > 0 && b.From-bends[i-1].To < closeBy*p.EquivalentDiameter() {
			ch.warnings = append(ch.warnings, fmt.Sprintf("two bends lie within four bores of each other near %.0f mm: their losses together can be more or less than the sum", 1e3*b.From))
		}
		e.row = len(ch.rows) - 1
		ch.elements = append(ch.elements, e)
	}
}

func nearest(st []passage.Station, at float64) passage.Station {
	best := st[0]
	for _, s := range st[1:] {
		if math.Abs(s.At-at) < math.Abs(best.At-at) {
			best = s
		}
	}
	return best
}

// bendLoss returns the coefficient of a bend, wall friction left out, at a round figure of the Reynolds number, for its spread.
func (ch *chain) bendLoss(e element, p passage.Place) Coefficient {
	const re = 2e5 // [-] of a bench test through such a bore; only the spread depends on it
	f := Friction(re, ch.sand/p.HydraulicDiameter()).K
	if e.boxed {
		return RectangularBend(e.angle, e.radius, e.width, e.depth, 0)
	}
	d := p.EquivalentDiameter()
	c := Bend(e.angle, e.radius/d, f, re)
	wall := f * e.angle * max(0.5, e.radius/d)
	a := e.aspect()
	c.K = a * (c.K - wall)
	c.Lo, c.Hi = min(c.K, max(0, a*(c.Lo-wall))), max(c.K, a*(c.Hi-wall))
	if a != 1 {
		c.Source += ", times the aspect of Idelchik, diagram 6-1 (factors from memory)"
	}
	return c
}

// aspect returns the factor on the loss of a round bend for a section that is not [-]: that of the depth across the bend over the width in
// its plane, 1 where they are alike. Source: Idelchik, diagram 6-1, where it stands for rectangles; that it holds for ovals is own judgement.
func (e element) aspect() float64 {
	if e.width == 0 {
		return 1
	}
	return idelchikAspect(e.depth / e.width)
}

// reynolds returns the Reynolds number [-] by hydraulic diameter at the flow w.
func (ch *chain) reynolds(w float64, p passage.Place) float64 {
	return w / math.Sqrt(ch.air.GasConstant*ch.air.Temperature) * p.HydraulicDiameter() / (p.Area * ch.air.Viscosity)
}

// coefficient returns K of an element [-] at the flow w.
func (ch *chain) coefficient(e element, w float64) float64 {
	switch e.kind {
	case kindEntry:
		k, err := ch.entryLoss(ch.grid[0].EquivalentDiameter())
		if err != nil {
			panic("tract: entry checked before: " + err.Error())
		}
		return k.K
	case kindFriction:
		p := ch.grid[e.index]
		d := p.HydraulicDiameter()
		f, _, _ := frictionSlopes(ch.reynolds(w, p), ch.sand/d)
		return f * e.length / d
	case kindNarrowing:
		k, _, _ := contractionSlopes(ch.grid[e.from].Area, ch.grid[e.to].Area, e.length)
		return k
	case kindWidening:
		k, _, _ := expansionSlopes(ch.grid[e.from].Area, ch.grid[e.to].Area, e.length)
		return k
	case kindBend:
		if e.boxed {
			return RectangularBend(e.angle, e.radius, e.width, e.depth, 0).K
		}
		p := ch.grid[e.index]
		f, _, _ := frictionSlopes(ch.reynolds(w, p), ch.sand/p.HydraulicDiameter())
		k, _, _ := bendSlopes(e.angle, e.radius/p.EquivalentDiameter(), f)
		return e.aspect() * k
	}
	panic("tract: no loss of kind " + e.kind)
}

// coefficientSlopes returns ∂K/∂ln w and ∂K/∂ln A at the places K depends on [-]. A section opened keeps its shape: its perimeter and
// its sides grow as the square root of its area.
func (ch *chain) coefficientSlopes(e element, w float64) (byFlow float64, byArea []slope) {
	p := ch.grid[e.index]
	switch e.kind {
	case kindEntry:
		return 0, []slope{{0, ch.entrySlope()}}
	case kindFriction:
		d := p.HydraulicDiameter()
		f, byRe, byRough := frictionSlopes(ch.reynolds(w, p), ch.sand/d)
		per := e.length / d
		return per * byRe, []slope{{e.index, per * (-byRe - byRough - f) / 2}}
	case kindNarrowing:
		_, a, b := contractionSlopes(ch.grid[e.from].Area, ch.grid[e.to].Area, e.length)
		return 0, []slope{{e.from, a}, {e.to, b}}
	case kindWidening:
		_, a, b := expansionSlopes(ch.grid[e.from].Area, ch.grid[e.to].Area, e.length)
		return 0, []slope{{e.from, a}, {e.to, b}}
	case kindBend:
		if e.boxed {
			const h = 1e-6 // tables: a difference within one straight piece is exact
			up := RectangularBend(e.angle, e.radius, e.width*math.Exp(h), e.depth*math.Exp(h), 0).K
			down := RectangularBend(e.angle, e.radius, e.width*math.Exp(-h), e.depth*math.Exp(-h), 0).K
			return 0, []slope{{e.index, (up - down) / (4 * h)}}
		}
		f, byRe, byRough := frictionSlopes(ch.reynolds(w, p), ch.sand/p.HydraulicDiameter())
		_, byRadius, byF := bendSlopes(e.angle, e.radius/p.EquivalentDiameter(), f)
		a := e.aspect()
		return a * byF * byRe, []slope{{e.index, a * (-byRadius - byF*(byRe+byRough)) / 2}}
	}
	panic("tract: no loss of kind " + e.kind)
}

// entrySlope returns ∂K/∂ln A of the entry: the table is straight between its points, so a difference within one piece is exact.
func (ch *chain) entrySlope() float64 {
	const h = 1e-6
	d := ch.grid[0].EquivalentDiameter()
	up, errUp := ch.entryLoss(d * math.Exp(h))
	down, errDown := ch.entryLoss(d * math.Exp(-h))
	if errUp != nil || errDown != nil {
		panic("tract: entry checked before")
	}
	return (up.K - down.K) / (4 * h)
}

// sensitivity returns what opening each station by one per cent gives, running out straight to its neighbours.
func (ch *chain) sensitivity(s slopes, p *passage.Passage) []Sensitivity {
	st := p.Stations()
	out := make([]Sensitivity, len(st))
	for i := range st {
		sum := 0.0
		for k, g := range ch.grid {
			sum += tent(st, i, g.At) * s.byArea[k]
		}
		out[i] = Sensitivity{Station: i, At: st[i].At, Gain: -sum / s.byFlow}
	}
	return out
}

// tent returns 1 at station i, 0 at and beyond its neighbours, straight between.
func tent(st []passage.Station, i int, at float64) float64 {
	switch {
	case at == st[i].At:
		return 1
	case at < st[i].At && i > 0 && at > st[i-1].At:
		return (at - st[i-1].At) / (st[i].At - st[i-1].At)
	case at > st[i].At && i < len(st)-1 && at < st[i+1].At:
		return (st[i+1].At - at) / (st[i+1].At - st[i].At)
	}
	return 0
}

// uncertainty returns the relative standard uncertainty of the predicted area [-]: the spread of each correlation on its own, wall
// friction as one, the exit profile, and the stated uncertainty of each section.
func (ch *chain) uncertainty(s slopes, w float64, p *passage.Passage) float64 {
	sum, friction := sq(s.byEnd*(exitMost-1)*rangeOf), 0.0
	for i, e := range ch.elements {
		if e.kind == kindFriction {
			friction += s.byK[i] * ch.coefficient(e, w) * ch.frictionSpread(e, w)
			continue
		}
		r := ch.rows[e.row]
		sum += sq(s.byK[i] * Coefficient{K: r.K, Lo: r.Lo, Hi: r.Hi}.Spread())
	}
	sum += sq(friction)
	for i, st := range p.Stations() {
		if st.U == 0 {
			continue
		}
		part := 0.0
		for k, g := range ch.grid {
			part += tent(p.Stations(), i, g.At) * s.byArea[k]
		}
		sum += sq(part * st.U)
	}
	return math.Sqrt(sum) / math.Abs(s.byFlow)
}

// frictionSpread returns the relative standard uncertainty of the wall friction of an element [-], from the range of the roughness
// and 3 % for the formula.
func (ch *chain) frictionSpread(e element, w float64) float64 {
	p := ch.grid[e.index]
	re, d := ch.reynolds(w, p), p.HydraulicDiameter()
	lo, mid, hi := FrictionColebrook(re, ch.roughness.Lo/d), FrictionColebrook(re, ch.sand/d), FrictionColebrook(re, ch.roughness.Hi/d)
	if ch.roughness.Hi == 0 {
		lo, hi = mid, mid
	}
	return math.Hypot(0.03, (hi-lo)/mid*rangeOf)
}
