package app

import (
	"math"
	"strconv"

	"runnel/engine"
	"runnel/gas"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/tract"
)

// A ThrottleCase is a throttle body and what is asked of it.
type ThrottleCase struct {
	Body    tract.Throttle
	Angle   float64      // plate angle [rad]
	Air     gas.MoistAir // upstream
	Flow    float64      // mass flow asked for [kg/s]; 0: not asked
	From    string       // where Flow comes from, in words
	MaxLoss float64      // largest loss accepted when a bore is advised [Pa]
	Opening float64      // effective area of one opening it is put before on the bench [m²]; 0: not asked
	Drop    float64      // test pressure of that [Pa]
}

// A ThrottleAnswer is what a throttle body leaves open and what that costs.
type ThrottleAnswer struct {
	Fraction     float64        `json:"open_fraction"`       // [-]
	Area         float64        `json:"open_area_m2"`        // [m²]
	ShaftLimited bool           `json:"shaft_limited"`       // more angle opens no more
	Coefficient  float64        `json:"coefficient"`         // taken on the open area, wide open [-]
	Flow         float64        `json:"flow_kg_s,omitempty"` // [kg/s]
	FlowFrom     string         `json:"flow_from,omitempty"`
	Loss         *float64       `json:"loss_pa,omitempty"` // at that flow and angle [Pa]; absent: not asked, or it cannot pass
	Passes       *bool          `json:"flow_passes,omitempty"`
	Advice       *ThrottleBores `json:"bores,omitempty"`
	OnReading    []BodyReading  `json:"on_bench_reading,omitempty"`
	Warnings     []string       `json:"warnings"`
}

// ThrottleBores is which bore the demand asks for.
type ThrottleBores struct {
	MaxLoss  float64        `json:"max_loss_pa"` // accepted [Pa]
	Smallest float64        `json:"advised_m"`   // smallest bore within it [m]; 0: none of those that can be had
	Enough   float64        `json:"enough_m"`    // beyond which nothing is gained [m]; 0: even the largest gains still
	Bores    []ThrottleBore `json:"table"`
}

// A ThrottleBore is one bore wide open.
type ThrottleBore struct {
	Bore     float64  `json:"bore_m"`       // [m]
	Loss     *float64 `json:"loss_pa"`      // [Pa]; null: choked
	Relative *float64 `json:"loss_rel"`     // over the pressure upstream [-]; null: choked
	Speed    float64  `json:"velocity_m_s"` // [m/s]
}

// A BodyReading is what the body does to a bench reading of a number of openings.
type BodyReading struct {
	AtOnce int     `json:"openings_at_once"`
	Factor float64 `json:"factor"` // reading with the body over without [-]
	Share  float64 `json:"share"`  // of the test pressure it takes [-]
}

// Throttle answers a throttle case.
func Throttle(c ThrottleCase) (ThrottleAnswer, error) {
	o, err := c.Body.Open(c.Angle)
	if err != nil {
		return ThrottleAnswer{}, invalid(err)
	}
	air, err := c.Air.Properties()
	if err != nil {
		return ThrottleAnswer{}, err
	}
	a := ThrottleAnswer{Fraction: o.Fraction, Area: o.Area, ShaftLimited: o.ShaftLimited, Coefficient: tract.ThrottleCoefficient, Flow: c.Flow, FlowFrom: c.From, Warnings: gasWords(air.Warnings)}
	in := tract.Inflow{Mass: c.Flow, Pressure: air.Pressure, Temperature: air.Temperature, GasConstant: air.GasConstant, Gamma: air.Kappa}
	if c.Flow > 0 {
		loss, err := in.Drop(tract.ThrottleCoefficient * o.Area)
		passes := err == nil && !math.IsInf(loss, 0)
		if a.Passes = &passes; passes {
			a.Loss = &loss
		}
		if a.Advice, err = boresFor(c, in); err != nil {
			return ThrottleAnswer{}, err
		}
	}
	if c.Opening > 0 {
		for _, n := range [...]int{1, 2, 4, 6} {
			e, err := tract.BodyOnReading(tract.ThrottleCoefficient*o.Area, c.Opening, float64(n), air.Pressure, c.Drop, air.Kappa)
			if err != nil {
				return ThrottleAnswer{}, invalid(err)
			}
			a.OnReading = append(a.OnReading, BodyReading{AtOnce: n, Factor: e.Factor, Share: e.Share})
		}
	}
	return a, nil
}

func boresFor(c ThrottleCase, in tract.Inflow) (*ThrottleBores, error) {
	ask := tract.BoreChoice{Air: in, Coefficient: tract.ThrottleCoefficient, Shaft: c.Body.Shaft, Plate: c.Body.Plate, MaxLoss: c.MaxLoss, Worth: tract.WorthWhile}
	adv, err := ask.Advise()
	if err != nil {
		return nil, invalid(err)
	}
	out := &ThrottleBores{MaxLoss: c.MaxLoss, Smallest: adv.Smallest, Enough: adv.Enough, Bores: []ThrottleBore{}}
	for _, b := range adv.Bores {
		t := ThrottleBore{Bore: b.Bore, Speed: b.Speed}
		if !math.IsInf(b.Loss, 0) {
			loss, rel := b.Loss, b.Relative
			t.Loss, t.Relative = &loss, &rel
		}
		out.Bores = append(out.Bores, t)
	}
	return out, nil
}

// DemandOf is the air one throttle body of a job is asked for at the red line of its engine card [kg/s], with how it was worked out: the
// mean of the whole engine into a plenum, the peak of one cylinder for a body of its own. ve is the volumetric efficiency [-].
func DemandOf(j job.Job, ve, rho float64) (mass float64, from string, err error) {
	e := j.Engine
	if e == nil {
		return 0, "", fault.Errorf(fault.Invalid, `job %q has no engine card: give --flow instead`, j.ID)
	}
	if e.RedLine == 0 {
		return 0, "", fault.Errorf(fault.Invalid, `the engine card of job %q has no red line: write red_line = "7000 rpm", or give --flow`, j.ID)
	}
	one := math.Pi / 4 * e.Bore * e.Bore * e.Stroke
	at := strconv.FormatFloat(100*ve, 'f', 0, 64) + " % volumetric efficiency at the red line"
	if e.Inlet.Layout == "individual" {
		return engine.PeakRunnerDemand(one, e.RedLine, ve, rho), "quasi-steady peak of one cylinder, " + at, nil
	}
	return engine.AirDemand(one*float64(e.Cylinders), e.RedLine, ve, rho), "mean of the whole engine, " + at, nil
}
