package app

import (
	"bytes"

	"runnel/gas"
	"runnel/passage"
)

// A TraverseCase is probe readings in a section.
type TraverseCase struct {
	Section      passage.Section
	Name         string       // of the file, for messages
	Data         []byte       // x_mm,y_mm,dp_pa
	Air          gas.MoistAir // static pressure and total temperature in the section
	Coefficient  float64      // of the probe, on the velocity [-]
	UCoefficient float64      // its standard uncertainty, relative [-]
	UDP          float64      // of one pressure reading [Pa]
	UPosition    float64      // of a place, each way [m]
	Meter        float64      // mass flow by the meter [kg/s]; 0: none
	UMeter       float64      // its standard uncertainty, relative [-]
}

// A TraverseAnswer is what a traverse says.
type TraverseAnswer struct {
	Mean          float64         `json:"mean_m_s"`         // [m/s]
	Highest       float64         `json:"highest_m_s"`      // [m/s]
	Mass          float64         `json:"mass_flow_kg_s"`   // [kg/s]
	Flow          float64         `json:"flow_m3_s"`        // at the density in the section [m³/s]
	U             float64         `json:"u_rel"`            // standard uncertainty of the flow, relative [-]
	NonUniformity float64         `json:"non_uniformity"`   // root mean square of velocity over mean less one [-]
	Energy        float64         `json:"energy_factor"`    // [-]
	EqualWeight   float64         `json:"equal_weight_m_s"` // plain mean on log-Tchebycheff places, else 0 [m/s]
	Meter         float64         `json:"meter_kg_s"`       // [kg/s]; 0 none
	Closure       float64         `json:"closure"`          // flow over the meter's [-]; 0 without
	UClosure      float64         `json:"u_closure_rel"`    // relative [-]
	Area          float64         `json:"area_m2"`          // of the section [m²]
	Parts         []PartAnswer    `json:"uncertainty"`
	Points        []VelocityAt    `json:"points"`
	Warnings      []string        `json:"warnings"`
	Profile       passage.Profile `json:"-"`
	Section       passage.Section `json:"-"`
}

// A PartAnswer is one part of an uncertainty.
type PartAnswer struct {
	Name string  `json:"name"`
	U    float64 `json:"u_rel"` // relative [-]
}

// A VelocityAt is the velocity at a place of the section.
type VelocityAt struct {
	X        float64 `json:"x_m"`          // [m]
	Y        float64 `json:"y_m"`          // [m]
	Velocity float64 `json:"velocity_m_s"` // [m/s]
}

// Traverse works out a traverse.
func Traverse(c TraverseCase) (TraverseAnswer, error) {
	probes, err := passage.ReadProbes(bytes.NewReader(c.Data), c.Name)
	if err != nil {
		return TraverseAnswer{}, invalid(err)
	}
	air, err := c.Air.Properties()
	if err != nil {
		return TraverseAnswer{}, err
	}
	t := passage.Traverse{
		Section: c.Section, Probes: probes, Pressure: air.Pressure, Temperature: air.Temperature, GasConstant: air.GasConstant, Gamma: air.Kappa,
		Coefficient: c.Coefficient, UCoefficient: c.UCoefficient, UDP: c.UDP, UPosition: c.UPosition, Meter: c.Meter, UMeter: c.UMeter,
	}
	p, err := t.Solve()
	if err != nil {
		return TraverseAnswer{}, invalid(err)
	}
	a := TraverseAnswer{
		Mean: p.Mean, Highest: p.Highest, Mass: p.Mass, Flow: p.Mean * c.Section.Area, U: p.U, NonUniformity: p.NonUniformity, Energy: p.Energy, EqualWeight: p.EqualWeight,
		Meter: c.Meter, Closure: p.Closure, UClosure: p.UClosure, Area: c.Section.Area, Parts: parts(p.Parts), Points: []VelocityAt{},
		Warnings: orEmpty(append(gasWords(air.Warnings), p.Warnings...)), Profile: p, Section: c.Section,
	}
	for _, s := range p.Points {
		a.Points = append(a.Points, VelocityAt{s.Point[0], s.Point[1], s.Velocity})
	}
	return a, nil
}

func parts(ps []passage.Part) []PartAnswer {
	out := []PartAnswer{}
	for _, p := range ps {
		out = append(out, PartAnswer(p))
	}
	return out
}
