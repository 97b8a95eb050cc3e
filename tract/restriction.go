package tract

import (
	"fmt"
	"math"

	"runnel/gas"
)

// A GainCurve is what the whole gains as one piece alone gets better: the law of diminishing returns for that piece.
type GainCurve struct {
	Piece   string
	Points  []GainPoint
	Ceiling float64 // gain of the whole if this piece lost nothing at all and carried nothing on, relative [-]
}

// A GainPoint is one point of a gain curve.
type GainPoint struct {
	Factor float64 // effective area of the piece over what it is now [-]
	Gain   float64 // gain of the whole's effective area, relative [-]
	Slope  float64 // gain of the whole for one per cent more of the piece from here on [%]
}

// scaled returns the series with the effective area of piece i multiplied.
func (s Series) scaled(i int, by float64) Series {
	s.Pieces = append([]Piece(nil), s.Pieces...)
	s.Pieces[i].Area *= by
	return s
}

// slope returns ∂ln(AT)/∂ln(Ae) of piece i [-] by a central difference.
func (s Series) slope(i int) float64 {
	const h = 1e-5
	return math.Log(s.scaled(i, 1+h).area()/s.scaled(i, 1-h).area()) / math.Log((1+h)/(1-h))
}

func (s Series) shares(w *Whole, area float64) {
	drops := s.drops(area)
	best, next := 0, 0
	for i, p := range s.Pieces {
		w.Shares = append(w.Shares, Share{Piece: p.Name, Drop: drops[i], Gain: s.slope(i)})
		if drops[i] > drops[best] {
			best = i
		}
		if w.Shares[i].Gain > w.Shares[next].Gain {
			next = i
		}
	}
	w.HoldsBack, w.NextBest = s.Pieces[best].Name, s.Pieces[next].Name
}

// drops returns the share of each piece in the drop of total pressure [-].
func (s Series) drops(area float64) []float64 {
	out := make([]float64, len(s.Pieces))
	if s.Pressure == 0 {
		whole := s.smallDrop()
		for i := range out {
			out[i] = s.smallShare(i) / whole
		}
		return out
	}
	end := s.Pressure - s.Drop
	w := area * gas.NozzleFunction(end/s.Pressure, s.Gamma)
	left := make([]float64, len(s.Pieces))
	if _, ok := s.endPressure(w*(1-1e-12), left); !ok {
		panic("tract: the flow found is not one the pieces pass")
	}
	left[len(left)-1] = end // behind a choked piece the rest of the drop belongs to it
	before := s.Pressure
	for i, after := range left {
		out[i] = (before - after) / s.Drop
		before = after
	}
	return out
}

func (s Series) curves(area float64) []GainCurve {
	factors := [...]float64{1, 1.02, 1.05, 1.1, 1.2, 1.35, 1.5, 2, 3}
	out := make([]GainCurve, 0, len(s.Pieces))
	for i, p := range s.Pieces {
		c := GainCurve{Piece: p.Name}
		for _, f := range factors {
			if p.Exit > 0 && p.Area*f > p.Exit && f > 1 {
				break // no passage flows more than its exit section
			}
			t := s.scaled(i, f)
			c.Points = append(c.Points, GainPoint{Factor: f, Gain: t.area()/area - 1, Slope: t.slope(i)})
		}
		free := s.scaled(i, 1e6)
		free.Pieces[i].Carried = 0
		c.Ceiling = math.Inf(1)
		if len(s.Pieces) > 1 {
			c.Ceiling = free.area()/area - 1
		}
		out = append(out, c)
	}
	return out
}

// uncertainty returns the relative standard uncertainty of the whole [-], first order, from all that is stated of the inputs.
// When η was solved from an assembled reading the whole is that reading, and so is its uncertainty.
func (s Series) uncertainty() float64 {
	if s.Assembled > 0 {
		return math.Hypot(s.UAssembled, s.Common)
	}
	sum, common := 0.0, 0.0
	at := s.area()
	for i, p := range s.Pieces {
		c := s.slope(i)
		common += c * s.Common
		sum += sq(c * p.U)
		if i == len(s.Pieces)-1 || p.Exit == 0 {
			continue
		}
		t := s.scaled(i, 1)
		t.Pieces[i].Exit *= 1 + p.UExit
		sum += sq(math.Log(t.area() / at))
		t = s.scaled(i, 1)
		t.Pieces[i].Carried += p.UCarried
		up := math.Abs(math.Log(t.area() / at))
		t.Pieces[i].Carried -= 2 * p.UCarried
		sum += sq((up + math.Abs(math.Log(t.area()/at))) / 2)
	}
	return math.Sqrt(sum + common*common)
}

func sq(x float64) float64 { return x * x }

// etaFor returns the η, the same at every joint, that gives the assembled area [-].
func (s Series) etaFor() (eta float64, ok bool) {
	miss := func(eta float64) float64 {
		a := s.with(eta).area()
		if math.IsNaN(a) {
			return math.Inf(-1)
		}
		return 1/sq(a) - 1/sq(s.Assembled)
	}
	const lo, hi = -5, 5
	f0, f1 := miss(0), miss(1)
	if math.Abs(f1-f0) < 1e-12*(1/sq(s.Assembled)) {
		return 0, false // no head is carried on at any joint
	}
	// In the small-drop form 1/AT² is a straight line in η.
	eta = f0 / (f0 - f1)
	if s.Pressure == 0 || eta < lo || eta > hi {
		return eta, true
	}
	a, b := max(lo, eta-0.5), min(hi, eta+0.5)
	if fa, fb := miss(a), miss(b); !(fa >= 0 && fb <= 0) || math.IsInf(fb, 0) {
		return eta, true // the straight line stands in where the pieces cannot be marched
	}
	return bracketed(miss, a, b), true
}

func (s Series) solveEta() (SolvedEta, bool) {
	eta, ok := s.etaFor()
	if !ok {
		return SolvedEta{}, false
	}
	out := SolvedEta{Eta: eta}
	// slope of η to the relative change of one input
	slope := func(change func(t *Series, f float64)) float64 {
		const h = 1e-4
		up, down := s.scaled(0, 1), s.scaled(0, 1)
		change(&up, 1+h)
		change(&down, 1-h)
		a, okA := up.etaFor()
		b, okB := down.etaFor()
		if !okA || !okB {
			return math.Inf(1)
		}
		return (a - b) / (2 * h)
	}
	out.Gain = slope(func(t *Series, f float64) { t.Assembled *= f })
	sum, common, one := sq(out.Gain*s.UAssembled), out.Gain*s.Common, sq(out.Gain*0.01)
	for i, p := range s.Pieces {
		c := slope(func(t *Series, f float64) { t.Pieces[i].Area *= f })
		sum += sq(c * p.U)
		one += sq(c * 0.01)
		common += c * s.Common
		if p.Exit > 0 && i < len(s.Pieces)-1 {
			sum += sq(slope(func(t *Series, f float64) { t.Pieces[i].Exit *= f }) * p.UExit)
		}
	}
	out.U = math.Sqrt(sum + common*common)
	out.Meaningless = 2*math.Sqrt(one) >= 1
	switch {
	case out.Meaningless:
		out.Note = "meaningless at ±1 %: the carried head is too small a part of the drop to be told from these readings"
	case eta+2*out.U < 0:
		out.Note = "assembled, the pieces flow less than with a plenum between: look for a step, a gasket or a blocked passage at a joint"
	case eta-2*out.U > 1:
		out.Note = "assembled, the pieces flow more than with all head carried on: an entry loss of a piece tested alone is gone in the assembly, or the readings disagree"
	case eta < 0 || eta > 1:
		out.Note = "outside 0 to 1, though not by more than the readings leave open"
	}
	return out, true
}

// A Rest is what is left of an assembly when a piece measured alone is taken out of it.
type Rest struct {
	Area        float64 // effective area of the rest, nothing carried on at the joint [m²]; +Inf when the assembly flows no less than the piece alone
	U           float64 // its standard uncertainty, relative [-]
	Share       float64 // share of the drop that the piece measured alone has [-]
	Gain        float64 // relative change of Area for a relative change of 1 of the assembled area [-]
	Meaningless bool    // at a standard uncertainty of ±1 % the 95 % interval of Area reaches beyond all bounds
	Note        string
}

// WithoutPiece returns the rest of an assembly: its effective area [m²] from those of one piece alone and of the assembly [m²],
// with their relative standard uncertainties [-], own parts.
//
//	1/Ar² = 1/Aa² − 1/A1²;  share = (Aa/A1)²;  gain = (Ar/Aa)²
//
// With the head alone and head with manifold this gives the manifold as if a plenum lay between. It returns ErrNoArea for areas
// not above zero. Source: inverse of the summation of loss coefficients.
func WithoutPiece(alone, uAlone, assembled, uAssembled float64) (Rest, error) {
	if !positive(alone) || !positive(assembled) {
		return Rest{}, fmt.Errorf("%w: %g m² alone, %g m² assembled", ErrNoArea, alone, assembled)
	}
	left := 1/sq(assembled) - 1/sq(alone)
	out := Rest{Share: sq(assembled / alone)}
	if left <= 0 {
		out.Area, out.U, out.Gain, out.Meaningless = math.Inf(1), math.Inf(1), math.Inf(1), true
		out.Note = "the assembly flows no less than the piece alone: the rest does not show in these readings"
		return out, nil
	}
	out.Area = 1 / math.Sqrt(left)
	out.Gain = sq(out.Area / assembled)
	out.U = math.Hypot(out.Gain*uAssembled, sq(out.Area/alone)*uAlone)
	out.Meaningless = 2*0.01*out.Gain >= 1
	switch {
	case out.Meaningless:
		out.Note = fmt.Sprintf("meaningless at ±1 %%: an error of 1 %% in the assembled reading changes the rest by %.0f %%", out.Gain)
	case 2*out.U >= 1:
		out.Note = "the uncertainty of the readings leaves the rest without an upper bound"
	}
	return out, nil
}
