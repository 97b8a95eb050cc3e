package assess

import (
	"context"
	"fmt"
	"math"

	"runnel/engine"
)

// A DynoFit is what a dynamometer run taught about the engine.
type DynoFit struct {
	Misfit     float64       `json:"misfit"`  // scatter of the run about the fitted engine over what its uncertainty lets expect [-]
	Decided    float64       `json:"decided"` // number of unknowns the run decided [-]
	Unknowns   []DynoUnknown `json:"unknowns"`
	Points     []DynoCompare `json:"points"`
	OffBefore  float64       `json:"unfitted_off"`          // by how much the engine as it was taken is off the run, root mean square of the shares [-]
	OffAfter   float64       `json:"fitted_off"`            // the same of the fitted engine [-]
	Band       *Narrowed     `json:"band,omitempty"`        // on torque, before the work; nil: not computed
	ChangeBand *Narrowed     `json:"change_band,omitempty"` // on the change from before to after the work; nil: there is none
	Note       string        `json:"note"`
	Warnings   []string      `json:"warnings"`
}

// A DynoUnknown is one unknown before and after the run.
type DynoUnknown struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Prior  float64 `json:"prior"`   // taken before [in Unit]
	PriorU float64 `json:"prior_u"` // its standard uncertainty [in Unit]
	Value  float64 `json:"value"`   // fitted [in Unit]
	U      float64 `json:"u"`       // its standard uncertainty [in Unit]
}

// A DynoCompare is one speed of the run.
type DynoCompare struct {
	Speed    float64 `json:"speed_rpm"`          // [rev/min]
	Torque   float64 `json:"torque_nm"`          // measured [N·m]
	Before   float64 `json:"unfitted_torque_nm"` // of the engine before the fit [N·m]
	After    float64 `json:"fitted_torque_nm"`   // of the fitted engine [N·m]
	Air      float64 `json:"air_kg_s"`           // measured, 0: not [kg/s]
	AirAfter float64 `json:"fitted_air_kg_s"`    // of the fitted engine [kg/s]
}

// Fit fits the states of an engine to the dynamometer run of its card, and does nothing where there is none. The run is taken to be of
// the first state: of the engine as it came. progress may be nil. Errors: as engine.FitDyno.
func Fit(ctx context.Context, tied []Tied, progress Progress) error {
	progress = quietly(progress)
	run := tied[0].Card.Dyno
	if len(run) == 0 {
		return nil
	}
	points := make([]engine.DynoPoint, len(run))
	for i, p := range run {
		points[i] = engine.DynoPoint{Speed: p.Speed, Torque: p.Torque, AirFlow: p.AirFlow}
	}
	f, err := engine.FitDyno(ctx, tied[0].plain, points, engine.FitOptions{Unknowns: tied[0].unknowns},
		func(done, total int) { progress("fit to the dynamometer run", done, total) })
	if err != nil {
		return fmt.Errorf("dynamometer run of the engine card: %w", err)
	}
	out := dynoFit(f)
	if tied[0].State != "" {
		out.Note += " The run is taken to be of the engine as it came, before the work."
	}
	for k := range tied {
		t := &tied[k]
		t.fit, t.Dyno, t.Engine = f, out, f.Apply(t.plain)
		t.Assumed = appendNew(t.Assumed, "the dynamometer run gives torque at the crank in the air of the engine card, each point within 1 % of its neighbours and the whole within 2 %")
		for _, w := range out.Warnings {
			t.Warnings = appendNew(t.Warnings, "dynamometer run: "+w)
		}
	}
	return nil
}

func dynoFit(f *engine.Fit) *DynoFit {
	out := &DynoFit{Misfit: f.Misfit, Decided: f.Effective, Warnings: append([]string{}, f.Warnings...)}
	for _, k := range f.Unknowns {
		out.Unknowns = append(out.Unknowns, DynoUnknown{Name: k.Name, Unit: k.Unit, Prior: k.Prior, PriorU: k.PriorU, Value: k.Value, U: k.U})
	}
	var was, is float64
	for _, p := range f.Points {
		out.Points = append(out.Points, DynoCompare{Speed: round(p.Speed*60, 6), Torque: p.Torque, Before: p.Before, After: p.After, Air: p.Air, AirAfter: p.AirTo})
		was += (p.Before/p.Torque - 1) * (p.Before/p.Torque - 1)
		is += (p.After/p.Torque - 1) * (p.After/p.Torque - 1)
	}
	n := float64(len(f.Points))
	out.OffBefore, out.OffAfter = math.Sqrt(was/n), math.Sqrt(is/n)
	out.Note = fmt.Sprintf("Fitted to %d points of a dynamometer run: the pull's torque was off it by %.1f %% on average, fitted by %.1f %%.",
		len(f.Points), 100*out.OffBefore, 100*out.OffAfter) + airNote(f.Points)
	return out
}

// airNote says by how much the air flow was off and is, where it was measured: a fit that gives both their due may bring one closer and
// leave the other farther off.
func airNote(points []engine.FitPoint) string {
	var was, is, n float64
	for _, p := range points {
		if p.Air > 0 {
			was, is, n = was+(p.AirFrom/p.Air-1)*(p.AirFrom/p.Air-1), is+(p.AirTo/p.Air-1)*(p.AirTo/p.Air-1), n+1
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf(" Its air flow was off by %.1f %%, fitted by %.1f %%; the fit weighs both.", 100*math.Sqrt(was/n), 100*math.Sqrt(is/n))
}
