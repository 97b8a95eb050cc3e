package bench

import (
	"fmt"
	"math"
	"strings"

	"runnel/gas"
	"runnel/measure"
)

// A Bridge is a rule of physics that makes unlike readings comparable: what the earlier readings are multiplied by to stand
// for the set-up of the later ones.
type Bridge struct {
	Name   string  // "test pressure", "entry", "throttle body", "meter", "air", "bench in" a sitting
	Text   string  // what was bridged, in words
	Factor float64 // effective area after the bridge over before it [-]
	URel   float64 // its relative standard uncertainty, but for Held [-]
	Held   float64 // the part of it that the budgets of the readings hold already [-]
}

func (b Bridge) String() string {
	return fmt.Sprintf("%s: %s, factor %.4f ± %.2g %%", b.Name, b.Text, b.Factor, 100*math.Hypot(b.URel, b.Held))
}

// A Fitted is what is known of a piece that may be fitted before another, such as a throttle body flowed alone.
type Fitted struct {
	EffectiveArea float64 // its effective area [m²]
	URel          float64 // its relative standard uncertainty [-]
	AtOnce        float64 // openings that draw through it at once in the test [-]; 0 means 1
}

// bridges finds what carries reading a over to the set-up of reading b, or the fields that nothing carries over.
func bridges(a, b *Reading, known map[string]Fitted) ([]Bridge, []Difference) {
	var all []Bridge
	var refused []Difference
	add := func(br *Bridge, d *Difference) {
		if br != nil {
			all = append(all, *br)
		}
		if d != nil {
			refused = append(refused, *d)
		}
	}
	add(benchBridge(a, b), nil)
	add(pressureBridge(a, b), nil)
	add(airBridge(a, b), nil)
	add(meterBridge(a, b), nil)
	add(entryBridge(a, b))
	add(fittedBridge(a, b, known))
	return all, refused
}

// pressureBridge: the effective area is that of an ideal nozzle, which does not depend on the drop; a real piece lies between
// that and the square-root rule. The distance of the two is taken as a bound, rectangular.
func pressureBridge(a, b *Reading) *Bridge {
	pa, pb := nominal(a), nominal(b)
	if math.Abs(pa/pb-1) <= samePressure {
		return nil
	}
	at := func(p float64) float64 {
		return gas.NozzleFunction(1-p/a.Room.Pressure, a.Room.Kappa) / math.Sqrt(2*p/a.Room.Pressure)
	}
	return &Bridge{
		Name: "test pressure", Text: fmt.Sprintf("%.0f Pa carried over to %.0f Pa by the nozzle function", pa, pb),
		Factor: 1, URel: math.Abs(math.Log(at(pb)/at(pa))) / math.Sqrt(3),
	}
}

// nominal is the test pressure of a card, or that of the reading where the card has none.
func nominal(r *Reading) float64 {
	if r.Rig.TestPressure > 0 {
		return r.Rig.TestPressure
	}
	return r.TestPressure
}

// airBridge: the effective area does not depend on the air, so the factor is 1; it is named where the densities differ by
// more than 3 %, because the reader should know that the days were unlike.
func airBridge(a, b *Reading) *Bridge {
	if math.Abs(b.Room.Density/a.Room.Density-1) <= 0.03 {
		return nil
	}
	return &Bridge{
		Name: "air", Text: fmt.Sprintf("air of %.4f kg/m³ against %.4f kg/m³, both turned into effective area", a.Room.Density, b.Room.Density),
		Factor: 1,
	}
}

// meterBridge: two meters measure one thing; their own uncertainties stay in the budgets and no longer cancel.
func meterBridge(a, b *Reading) *Bridge {
	if a.Rig.Meter == b.Rig.Meter {
		return nil
	}
	return &Bridge{
		Name: "meter", Text: fmt.Sprintf("meter %s against %s: their coefficients do not cancel", a.Rig.Meter, b.Rig.Meter), Factor: 1,
	}
}

// entryBridge: the loss of the entry over r/D, on the area of its bore.
func entryBridge(a, b *Reading) (*Bridge, *Difference) {
	from, to := edge(a), edge(b)
	if from.kind == to.kind && math.Abs(from.radius-to.radius) <= sameLength {
		return nil, nil
	}
	refuse := func(why string) (*Bridge, *Difference) {
		return nil, &Difference{"entry", from.String(), to.String(), why}
	}
	bore := from.bore
	if bore == 0 {
		bore = to.bore
	}
	switch {
	case bore == 0:
		return refuse("give entry_bore on a card, to bridge it from the loss of the entry")
	case from.bore > 0 && to.bore > 0 && math.Abs(from.bore-to.bore) > sameLength:
		return refuse("the bores at the entry differ too")
	case (from.kind == "radiused" && from.radius == 0) || (to.kind == "radiused" && to.radius == 0):
		return refuse("give entry_radius on the card of the radiused entry")
	}
	dk, u := EntryChange(from.radius/bore, to.radius/bore)
	with := AreaWithEntry(a.EffectiveArea, dk, bore)
	if math.IsNaN(with) {
		return refuse("the loss of the entry is more than the piece has: check entry_bore")
	}
	// d ln Ae'/dΔK = −Ae'²/(2A²); the same sum of squares carries u over.
	area := math.Pi / 4 * bore * bore
	return &Bridge{
		Name: "entry", Text: fmt.Sprintf("%s carried over to %s by published entry losses", from, to),
		Factor: with / a.EffectiveArea, URel: u * with * with / (2 * area * area),
	}, nil
}

// An edgeCard is the entry of a rig card.
type edgeCard struct {
	kind         string
	radius, bore float64
}

func edge(r *Reading) edgeCard {
	e := edgeCard{entry(r.Rig), r.Rig.EntryRadius, r.Rig.EntryBore}
	if e.kind == "bare" {
		e.radius = 0
	}
	return e
}

func (e edgeCard) String() string {
	if e.kind == "bare" {
		return "bare"
	}
	return e.kind + " " + millimetres(e.radius)
}

// fittedBridge: one throttle body more or less before the piece, in series with a plenum between, nothing carried on; up to
// half of its exit head may be carried on after all, which is the spread, rectangular.
//
//	1/Ae'² = 1/Ae² ± (n/Ab)²
func fittedBridge(a, b *Reading, known map[string]Fitted) (*Bridge, *Difference) {
	off, on := sameSet(a.Rig.Fitted, b.Rig.Fitted)
	if len(off)+len(on) == 0 {
		return nil, nil
	}
	refuse := func(why string) (*Bridge, *Difference) {
		return nil, &Difference{"fitted", strings.Join(a.Rig.Fitted, ", "), strings.Join(b.Rig.Fitted, ", "), why}
	}
	if len(off)+len(on) > 1 {
		return refuse("more than one piece was changed")
	}
	id, sign, verb := strings.Join(on, ""), 1.0, "added to"
	if len(on) == 0 {
		id, sign, verb = off[0], -1, "taken off"
	}
	f, ok := known[id]
	if !ok || !(f.EffectiveArea > 0) {
		return refuse("flow " + id + " alone, so that its effective area is known")
	}
	share := a.EffectiveArea * or(f.AtOnce, 1) / f.EffectiveArea
	share *= share
	// Between nothing and half of the head carried on: the middle of the two, and half their distance as the bound.
	none, half := 1+sign*share, 1+sign*share/2
	if none <= 0 {
		return refuse(id + " alone flows less than the assembly: check the readings")
	}
	hi, lo := 1/math.Sqrt(half), 1/math.Sqrt(none)
	factor := (hi + lo) / 2
	// d ln Ae'/d ln Ab = ±share·(Ae'/Ae)².
	return &Bridge{
		Name: "throttle body", Text: fmt.Sprintf("%s %s the test, in series through a plenum", id, verb),
		Factor: factor, URel: math.Hypot(math.Abs(hi-lo)/2/factor/math.Sqrt(3), share*factor*factor*f.URel),
	}, nil
}

// apply returns the budget of reading a with its bridges taken: its value and contributions scaled, and one line a bridge.
func apply(b measure.Budget, bridges []Bridge) measure.Budget {
	out := b
	out.Lines = append([]measure.Line(nil), b.Lines...)
	for _, br := range bridges {
		out.Value *= br.Factor
		for i := range out.Lines {
			out.Lines[i].Sensitivity *= br.Factor
		}
	}
	for _, br := range bridges {
		if br.URel > 0 {
			out.Lines = append(out.Lines, bridgeLine(br, out.Value/br.Factor))
		}
	}
	return out
}

// bridgeLine is the line of a bridge in the budget of one reading.
func bridgeLine(br Bridge, sensitivity float64) measure.Line {
	return measure.Line{
		Quantity: "bridge: " + br.Name, Key: "bridge/" + br.Name, Unit: "1", Kind: measure.TypeB, Distribution: measure.Rectangular,
		Estimate: br.Factor, U: br.URel * br.Factor, Dof: math.Inf(1), Sensitivity: sensitivity,
	}
}
