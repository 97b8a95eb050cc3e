package tract

import (
	"fmt"
	"math"

	"runnel/gas"
)

// What is taken of a throttle body when nothing was measured.
const (
	ThrottleCoefficient = 0.9   // discharge coefficient on the open area, wide open [-]: 0.80 to 0.95, from memory
	WorthWhile          = 0.005 // gain of air pressure behind the body that is worth a larger bore [-]: the smallest change worth claiming
)

// An Inflow is the air that is asked for and the state it comes from.
type Inflow struct {
	Mass        float64 // mass flow [kg/s]
	Pressure    float64 // total pressure upstream, absolute [Pa]
	Temperature float64 // total temperature upstream [K]
	GasConstant float64 // specific gas constant [J/(kg·K)]
	Gamma       float64 // ratio of specific heats [-]
}

// area returns the effective area [m²] through which the flow would need no drop at all over the nozzle function: ṁ·√(R·T0)/p0.
func (in Inflow) area() float64 {
	return in.Mass * math.Sqrt(in.GasConstant*in.Temperature) / in.Pressure
}

func (in Inflow) check() error {
	if !positive(in.Mass) || !positive(in.Pressure) || !positive(in.Temperature) || !positive(in.GasConstant) || !(in.Gamma > 1) {
		return fmt.Errorf("%w: flow %g kg/s from %g Pa and %g K", ErrPressure, in.Mass, in.Pressure, in.Temperature)
	}
	return nil
}

// Drop returns the pressure lost [Pa] from still air, through an effective area [m²], into still air again, as a plenum is.
//
//	ψ(1 − Δp/p0) = ṁ·√(R·T0)/(A·p0)
//
// It returns ErrPressure, wrapped, when the flow cannot pass at all. Source: nozzle function, see package gas.
func (in Inflow) Drop(area float64) (float64, error) {
	if err := in.check(); err != nil {
		return 0, err
	}
	if !positive(area) {
		return 0, fmt.Errorf("%w: effective area is %g m²", ErrNoArea, area)
	}
	r, ok := nozzleRatio(in.area()/area, in.Gamma)
	if !ok {
		most := area / in.area() * in.Mass * gas.NozzleFunction(0, in.Gamma)
		return 0, fmt.Errorf("%w: %.4g kg/s do not pass %.4g m², which chokes at %.4g kg/s", ErrPressure, in.Mass, area, most)
	}
	return in.Pressure * (1 - r), nil
}

// A BoreChoice asks which bore a throttle body should have.
type BoreChoice struct {
	Air         Inflow    // the engine's demand: its mean into a plenum, the peak of one cylinder for a body of its own
	Coefficient float64   // discharge coefficient on the open area, wide open [-]
	Shaft       float64   // shaft diameter [m]
	Plate       float64   // plate thickness [m]
	MaxLoss     float64   // largest pressure loss accepted [Pa]
	Worth       float64   // gain of pressure, relative, below which a larger bore gains nothing [-]
	Bores       []float64 // bores that can be had, rising [m]; nil: those of StandardBores that come into question
}

// widestShaft is wider than the shaft of any throttle body up to 120 mm [m]: common practice, no source.
const widestShaft = 0.03

// StandardBores returns bores of throttle bodies that can be had [m]: every 5 mm from 10, of a small engine, to 120 mm. Common practice, no source.
func StandardBores() []float64 {
	var out []float64
	for mm := 10; mm <= 120; mm += 5 {
		out = append(out, float64(mm)/1000)
	}
	return out
}

// standard returns the standard bores that come into question [m]: wider than twice the shaft, and of those that choke the widest only.
func (c BoreChoice) standard() []float64 {
	var out []float64
	for _, d := range StandardBores() {
		open, err := Throttle{Bore: d, Shaft: c.Shaft, Plate: c.Plate}.Open(math.Pi / 2)
		if err != nil || d <= 2*c.Shaft {
			continue
		}
		if _, err := c.Air.Drop(c.Coefficient * open.Area); err != nil {
			out = out[:0]
		}
		out = append(out, d)
	}
	return out
}

// A BoreAdvice is the answer to a BoreChoice.
type BoreAdvice struct {
	Smallest float64 // smallest bore within the loss accepted [m]; 0: none of those that can be had
	Enough   float64 // bore beyond which the next one gains less than Worth [m]; 0: even the largest gains still
	Bores    []BoreLoss
	Warnings []string
}

// A BoreLoss is one bore and what it loses.
type BoreLoss struct {
	Bore     float64 // bore [m]
	Area     float64 // effective area, wide open [m²]
	Loss     float64 // pressure loss at the demand [Pa]; +Inf: choked
	Relative float64 // the same over the pressure upstream [-]
	Next     float64 // pressure gained, relative to upstream, by the next larger bore [-]; NaN for the last
	Speed    float64 // mean air speed in the bore, at the density upstream [m/s]
}

// Advise works through the bores wide open. Definition. It returns ErrThrottle or ErrPressure, wrapped.
func (c BoreChoice) Advise() (BoreAdvice, error) {
	if err := c.Air.check(); err != nil {
		return BoreAdvice{}, err
	}
	if !positive(c.Coefficient) || c.Coefficient > 1.2 || !positive(c.MaxLoss) || !positive(c.Worth) {
		return BoreAdvice{}, fmt.Errorf("%w: coefficient %g, accepted loss %g Pa, worthwhile gain %g", ErrThrottle, c.Coefficient, c.MaxLoss, c.Worth)
	}
	bores := c.Bores
	if bores == nil {
		bores = c.standard()
		if len(bores) == 0 || c.Shaft > widestShaft {
			return BoreAdvice{}, fmt.Errorf("%w: a shaft of %.4g mm and a plate of %.4g mm are those of no throttle body: write the shaft's diameter, at most %g mm, and the plate's thickness",
				ErrThrottle, 1e3*c.Shaft, 1e3*c.Plate, 1e3*widestShaft)
		}
	}
	var out BoreAdvice
	for i, d := range bores {
		if i > 0 && !(d > bores[i-1]) {
			return BoreAdvice{}, fmt.Errorf("%w: bores must rise, and %g m follows %g m", ErrThrottle, d, bores[i-1])
		}
		open, err := Throttle{Bore: d, Shaft: c.Shaft, Plate: c.Plate}.Open(math.Pi / 2)
		if err != nil {
			return BoreAdvice{}, err
		}
		b := BoreLoss{Bore: d, Area: c.Coefficient * open.Area, Next: math.NaN()}
		b.Speed = c.Air.Mass * c.Air.GasConstant * c.Air.Temperature / c.Air.Pressure / (math.Pi / 4 * d * d)
		b.Loss, err = c.Air.Drop(b.Area)
		if err != nil {
			b.Loss = math.Inf(1)
		}
		b.Relative = b.Loss / c.Air.Pressure
		out.Bores = append(out.Bores, b)
	}
	out.pick(c)
	return out, nil
}

func (a *BoreAdvice) pick(c BoreChoice) {
	for i := range a.Bores {
		b := &a.Bores[i]
		if a.Smallest == 0 && b.Loss <= c.MaxLoss {
			a.Smallest = b.Bore
		}
		if i == len(a.Bores)-1 {
			break
		}
		b.Next = b.Relative - a.Bores[i+1].Relative
		if a.Enough == 0 && b.Next < c.Worth {
			a.Enough = b.Bore
		}
	}
	if a.Smallest == 0 {
		a.Warnings = append(a.Warnings, fmt.Sprintf("no bore that can be had keeps the loss within %.0f Pa: use several bodies, or accept more", c.MaxLoss))
	}
	if a.Enough > 0 && a.Smallest > a.Enough {
		a.Warnings = append(a.Warnings, fmt.Sprintf("the accepted loss asks for %.0f mm, though beyond %.0f mm the next bore gains less than %.2g %%", 1e3*a.Smallest, 1e3*a.Enough, 100*c.Worth))
	}
}

// A BodyEffect is what a throttle body in front of a piece does to its bench reading.
type BodyEffect struct {
	Factor float64 // reading with the body over reading without [-]
	Share  float64 // share of the test pressure that the body takes [-]
	Series Whole
}

// BodyOnReading returns what a throttle body of effective area body does to the reading of one opening of effective area
// opening [m²] when atOnce openings flow at the same time [-], 1 on most benches, into a plenum with nothing carried on; drop is
// the test pressure from pressure, absolute [Pa], and gamma the ratio of specific heats [-].
//
//	factor = 1/√(1 + (atOnce·opening/body)²) for a small drop
//
// It returns what Series.Solve returns. Source: Series.Solve.
func BodyOnReading(body, opening, atOnce, pressure, drop, gamma float64) (BodyEffect, error) {
	s := Series{
		Pieces:   []Piece{{Name: "throttle body", Area: body, Feeds: atOnce}, {Name: "opening", Area: opening}},
		Pressure: pressure, Drop: drop, Gamma: gamma,
	}
	w, err := s.Solve()
	if err != nil {
		return BodyEffect{}, err
	}
	return BodyEffect{Factor: w.Area / opening, Share: w.Shares[0].Drop, Series: w}, nil
}
