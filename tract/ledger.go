package tract

import (
	"errors"
	"fmt"
	"math"

	"runnel/gas"
	"runnel/passage"
)

// ErrLedger says that a ledger cannot be drawn up as asked.
var ErrLedger = errors.New("no ledger can be drawn up")

// Air is the air of a test on the bench, still upstream.
type Air struct {
	Pressure    float64 // total pressure upstream, absolute [Pa]
	Temperature float64 // total temperature upstream [K]
	GasConstant float64 // specific gas constant [J/(kg·K)]
	Gamma       float64 // ratio of specific heats [-]
	Viscosity   float64 // dynamic viscosity [Pa·s]
}

// An Entry is how the air gets into the passage.
type Entry struct {
	Radius     float64 // radius of the edge [m]; 0: bare
	Projecting bool    // the bare end stands out into the room instead of lying flush with a wall
	Wall       float64 // wall thickness of a projecting end [m]
}

// A Roughness is the equivalent sand roughness of a wall, with what it may be.
type Roughness struct {
	Name   string
	Sand   float64 // equivalent sand roughness ks [m]; 0: hydraulically smooth
	Lo, Hi float64 // what it may be [m]
}

// Cast returns the roughness of a sand casting.
func Cast() Roughness { return Roughness{"cast", RoughnessCast, 60e-6, 150e-6} }

// Worked returns the roughness of a wall finished by flap wheel.
func Worked() Roughness { return Roughness{"worked", RoughnessWorked, 5e-6, 10e-6} }

// Smooth returns the roughness of a hydraulically smooth wall.
func Smooth() Roughness { return Roughness{Name: "smooth"} }

// A Case is one passage at one test pressure.
type Case struct {
	Passage   *passage.Passage
	Air       Air
	Drop      float64 // test pressure [Pa]
	Entry     Entry
	Roughness Roughness
	Reading   float64 // effective area that was measured [m²]; 0: none
	UReading  float64 // its standard uncertainty, relative [-]
}

// A Ledger is where the pressure is lost along a passage, entry to exit.
type Ledger struct {
	Area        float64 // effective area predicted [m²]
	U           float64 // its standard uncertainty from the spread of the correlations, roughness and sections, relative [-]
	Mass        float64 // mass flow the table is drawn up at: that of the reading where there is one, else predicted [kg/s]
	Losses      []Loss  // in the order the air meets them, the exit last
	Unexplained Loss    // what the reading has over the table, as a loss; zero without a reading
	Closure     float64 // effective area measured over predicted [-]; 0 without a reading
	UClosure    float64 // its standard uncertainty, relative [-]
	Profile     []State // along the passage, at Mass
	Sensitivity []Sensitivity
	Warnings    []string
}

// A Loss is one line of the ledger.
type Loss struct {
	Name     string  // what it is and where
	Kind     string  // "entry", "friction", "widening", "narrowing", "bend", "exit", "choking" or "unexplained"
	From, To float64 // where along the centreline [m]
	K        float64 // loss coefficient on the velocity head of Section [-]
	Lo, Hi   float64 // lowest and highest of the published methods [-]
	Section  float64 // section K is stated on [m²]
	Drop     float64 // total pressure lost [Pa]
	Share    float64 // of the test pressure [-]
	Source   string
}

// A State is the flow at one place of the passage.
type State struct {
	At       float64 // distance along the centreline [m]
	Area     float64 // section [m²]
	Total    float64 // total pressure, absolute [Pa]
	Static   float64 // static pressure, absolute [Pa]
	Velocity float64 // mean velocity [m/s]
	Mach     float64 // Mach number of it [-]
}

// A Sensitivity is what opening one section does, the change running out in straight lines to the neighbouring stations.
type Sensitivity struct {
	Station int     // number of the station, from 0
	At      float64 // where it is [m]
	Gain    float64 // flow gained for one per cent more area there [%]
}

// Draw draws up the ledger.
//
// The air is taken through the passage as through a chain of elements, each taking K·½ρV² of total pressure; wall friction takes
// p0·(γ/2)·M²·λ·ds/Dh, which is exact for a duct of constant section. The flow is that at which the static pressure at the exit is
// the test pressure below the room: the exit head is lost. Runs of falling or rising area count as one contraction or diffuser each, apart where
// a run is steeper than 40° full angle; ripples below 2 % of the area are no runs. Bends carry no friction of their own: it is
// counted along the centreline. Sections that are not round count by hydraulic diameter for friction and by area for the rest;
// bends of rectangular sections go by width and depth where both are known, those of other sections by the round bend times the factor
// of depth over width.
//
// It returns ErrLedger, wrapped, for a case that cannot be. Losses are incompressible correlations: a warning says where M > 0.3.
func (c Case) Draw() (Ledger, error) {
	if err := c.check(); err != nil {
		return Ledger{}, err
	}
	ch, err := c.chain()
	if err != nil {
		return Ledger{}, err
	}
	w, choked, err := ch.solve(c.Air.Pressure - c.Drop)
	if err != nil {
		return Ledger{}, err
	}
	if choked {
		ch.warnings = append(ch.warnings, "a section is choked: a lower pressure behind it would pull no more, and what is left of the drop is lost behind it")
	}
	unit := c.Air.Pressure * gas.NozzleFunction(1-c.Drop/c.Air.Pressure, c.Air.Gamma)
	out := Ledger{Area: w / unit, Warnings: ch.warnings}
	adj := ch.adjoint(w)
	out.U = ch.uncertainty(adj, w, c.Passage)
	out.Sensitivity = ch.sensitivity(adj, c.Passage)
	if c.Reading > 0 {
		out.Closure = c.Reading / out.Area
		out.UClosure = math.Hypot(out.U, c.UReading)
		w = c.Reading * unit
	}
	if err := ch.write(&out, w, c); err != nil {
		return Ledger{}, err
	}
	return out, nil
}

func (c Case) check() error {
	a := c.Air
	switch {
	case c.Passage == nil:
		return fmt.Errorf("%w: there is no passage", ErrLedger)
	case !positive(a.Pressure) || !positive(a.Temperature) || !positive(a.GasConstant) || !(a.Gamma > 1) || !positive(a.Viscosity):
		return fmt.Errorf("%w: air at %g Pa, %g K, R %g J/(kg·K), γ %g, μ %g Pa·s", ErrLedger, a.Pressure, a.Temperature, a.GasConstant, a.Gamma, a.Viscosity)
	case !(c.Drop > 0 && c.Drop < a.Pressure):
		return fmt.Errorf("%w: test pressure %g Pa from %g Pa", ErrLedger, c.Drop, a.Pressure)
	case !(c.Roughness.Sand >= 0) || math.IsInf(c.Roughness.Sand, 1):
		return fmt.Errorf("%w: roughness is %g m", ErrLedger, c.Roughness.Sand)
	case c.Reading != 0 && !positive(c.Reading):
		return fmt.Errorf("%w: reading is %g m²", ErrLedger, c.Reading)
	}
	return nil
}
