package app

import (
	"math"

	"runnel/bench"
	"runnel/job"
)

// A LeakageLaw is the law of a bench's leakage, Q = k·Δpⁿ, and the points it rests on.
type LeakageLaw struct {
	Title    string            `json:"title,omitempty"`
	K        float64           `json:"k"`              // volume flow at 1 Pa [m³/(s·Paⁿ)]
	N        float64           `json:"n"`              // exponent [-]
	At       float64           `json:"at_pa"`          // test pressure of Flow [Pa]
	Flow     float64           `json:"flow_at_m3_s"`   // leakage there [m³/s]
	UFlow    float64           `json:"u_flow_at_m3_s"` // its standard uncertainty [m³/s]
	Bound    float64           `json:"bound_at_m3_s"`  // when no point shows a flow: the most it may be there [m³/s]; else 0
	Seen     int               `json:"seen"`           // points that show a flow
	ULnK     float64           `json:"u_ln_k"`         // standard uncertainty of ln k [-]
	UN       float64           `json:"u_n"`            // standard uncertainty of n [-]
	Cov      float64           `json:"cov_ln_k_n"`     // covariance of ln k and n [-]
	Dof      float64           `json:"dof"`            // degrees of freedom of these [-]; -1: very many
	Scatter  float64           `json:"scatter_rel"`    // relative standard deviation of the points about the law [-]
	Area     float64           `json:"area_at_m2"`     // effective area of the leak there [m²]
	Points   []LeakageLawPoint `json:"points"`         // in the order of the file
	Warnings []string          `json:"warnings"`       // where the law is weak
}

// A LeakageLawPoint is one point beside the law.
type LeakageLawPoint struct {
	TestPressure float64 `json:"test_pressure_pa"` // [Pa]
	Flow         float64 `json:"flow_m3_s"`        // as measured [m³/s]
	U            float64 `json:"u_flow_m3_s"`      // its standard uncertainty as stated [m³/s]; 0: not stated
	Law          float64 `json:"law_m3_s"`         // by the law [m³/s]
	Deviation    float64 `json:"deviation_rel"`    // measured over law, less one [-]; 0 where there is no leakage at all
}

// Leakage fits the law of a leakage test and states the leakage at a test pressure [Pa].
func Leakage(t job.LeakageTest, at float64) (LeakageLaw, error) {
	points := make([]bench.LeakPoint, len(t.Points))
	for i, p := range t.Points {
		points[i] = bench.LeakPoint{TestPressure: p.TestPressure, Flow: p.Flow, U: p.UFlow}
	}
	l, err := bench.FitLeakage(points, t.UMeter)
	if err != nil {
		return LeakageLaw{}, invalid(err)
	}
	out := LeakageLaw{Title: t.Title, K: l.K, N: l.N, At: at, Seen: l.Seen, Dof: l.Dof, Scatter: l.Scatter, Points: []LeakageLawPoint{}}
	flow, u, w := l.At(at)
	out.Flow, out.UFlow, out.Bound = flow, u, l.Bound*math.Pow(at, l.N)
	out.ULnK, out.UN, out.Cov = l.ULogK()
	if math.IsInf(out.Dof, 1) {
		out.Dof = -1
	}
	out.Warnings = append(gasWords(l.Warnings), gasWords(w)...)
	ref, err := bench.ReferenceOf(job.Reference{TestPressure: at})
	if err != nil {
		return LeakageLaw{}, invalid(err)
	}
	out.Area = ref.Area(flow)
	for _, p := range points {
		law, _, _ := l.At(p.TestPressure)
		row := LeakageLawPoint{TestPressure: p.TestPressure, Flow: p.Flow, U: p.U, Law: law}
		if law > 0 {
			row.Deviation = p.Flow/law - 1
		}
		out.Points = append(out.Points, row)
	}
	return out, nil
}
