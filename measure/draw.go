package measure

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// A drawer draws one input of a model.
type drawer struct {
	shape Shape
	at    float64 // estimate
	u     float64 // scale of a deviate of unit standard uncertainty
	nu    float64 // degrees of freedom of StudentT
	from  int     // place of an earlier input whose deviate is used too, or −1
	pool  int     // place of an earlier StudentT whose estimate of scatter, and so its χ², is used too, or −1
	stray float64 // of StudentT: standard deviation that was estimated, over the true one, of the present draw [-]
}

// drawers are the inputs of a model with what is needed to draw them together.
type drawers struct {
	all   []drawer
	z     []float64   // deviates of unit standard uncertainty of the present draw
	lower [][]float64 // Cholesky factor of correlated normal inputs; nil if none are
	white []float64   // independent normal deviates before the factor is applied
}

// newDrawers checks that inputs can be drawn: shapes that are known, t with
// degrees of freedom, correlations between normal and t inputs only. A correlation
// of t inputs is that of the normal deviates they are made of; those of one pool
// have one χ² in common.
func newDrawers(inputs []Line, correlation []Pair) (*drawers, error) {
	b := Budget{Lines: inputs, Correlation: correlation}
	if err := b.Check(); err != nil {
		return nil, err
	}
	d := &drawers{z: make([]float64, len(inputs))}
	first, pools := map[string]int{}, map[string]int{}
	for i, l := range inputs {
		w := drawer{shape: l.Distribution, at: l.Estimate, u: l.U, nu: l.dof(), from: -1, pool: -1}
		switch w.shape {
		case Normal, Rectangular, Triangular, ArcSine:
		case "":
			w.shape = Normal
		case StudentT:
			if math.IsInf(w.nu, 1) {
				w.shape = Normal
			}
		default:
			return nil, fmt.Errorf("input %d %q has distribution %q: %w", i+1, l.Quantity, l.Distribution, ErrShape)
		}
		if j, ok := pools[l.Pool]; ok && l.Pool != "" && w.shape == StudentT {
			w.pool = j
		} else if w.shape == StudentT {
			pools[l.Pool] = i
		}
		if j, ok := first[l.Key]; ok && l.Key != "" {
			w.from = j
		} else {
			first[l.Key] = i
		}
		d.all = append(d.all, w)
	}
	if len(correlation) == 0 {
		return d, nil
	}
	for _, p := range correlation {
		for _, i := range []int{p.I, p.J} {
			if s := d.all[i].shape; s != Normal && s != StudentT && p.R != 0 {
				return nil, fmt.Errorf("input %d %q is correlated but neither normal nor t: %w", i+1, inputs[i].Quantity, ErrShape)
			}
		}
	}
	var err error
	d.lower, err = choleskyCorrelation(len(inputs), correlation)
	d.white = make([]float64, len(inputs))
	return d, err
}

// draw fills x with one draw of all inputs; it allocates nothing.
func (d *drawers) draw(rng *rand.Rand, x []float64) {
	if d.lower != nil {
		for i := range d.white {
			d.white[i] = rng.NormFloat64()
		}
	}
	for i := range d.all {
		w := &d.all[i]
		switch {
		case w.from >= 0:
			d.z[i] = d.z[w.from]
		case w.shape == StudentT:
			d.z[i] = d.studentT(rng, i)
		case w.shape == Normal && d.lower != nil:
			d.z[i] = dot(d.lower[i][:i+1], d.white)
		default:
			d.z[i] = w.deviate(rng)
		}
		x[i] = w.at + w.u*d.z[i]
	}
}

// studentT draws a deviate of input i of scale 1, whose standard deviation is
// sqrt(ν/(ν − 2)).
//
// Source: JCGM 101:2008, 6.4.9.5: t = z·sqrt(ν/χ²_ν).
func (d *drawers) studentT(rng *rand.Rand, i int) float64 {
	w := &d.all[i]
	if w.stray = math.Sqrt(2 * gammaDeviate(rng, w.nu/2) / w.nu); w.pool >= 0 {
		w.stray = d.all[w.pool].stray
	}
	if d.lower != nil {
		return dot(d.lower[i][:i+1], d.white) / w.stray
	}
	return rng.NormFloat64() / w.stray
}

// deviate draws a deviate of mean 0 and standard deviation 1.
//
// Source: JCGM 101:2008, 6.4.2 (rectangular), 6.4.5 (triangular), 6.4.6 (arcsine),
// 6.4.7 (normal).
func (w *drawer) deviate(rng *rand.Rand) float64 {
	switch w.shape {
	case Rectangular:
		return math.Sqrt(3) * (2*rng.Float64() - 1)
	case Triangular:
		return math.Sqrt(6) * (rng.Float64() + rng.Float64() - 1)
	case ArcSine:
		return math.Sqrt2 * math.Sin(2*math.Pi*rng.Float64())
	case Normal, StudentT:
	}
	return rng.NormFloat64()
}

// gammaDeviate draws from the gamma distribution of the given shape [-] and unit
// scale. Source: Marsaglia and Tsang, ACM Trans. Math. Softw. 26 (2000) 363.
func gammaDeviate(rng *rand.Rand, shape float64) float64 {
	if shape < 1 {
		return gammaDeviate(rng, shape+1) * math.Pow(1-rng.Float64(), 1/shape)
	}
	d := shape - 1.0/3
	c := 1 / math.Sqrt(9*d)
	for {
		x := rng.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		u := 1 - rng.Float64()
		if math.Log(u) < 0.5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}
