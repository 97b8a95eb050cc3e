package app

import (
	"fmt"
	"math"
	"slices"
	"time"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// A CalibrationAnswer is the curve that turns what a bench reads into what the plates say, and whether it still holds.
type CalibrationAnswer struct {
	Title        string             `json:"title,omitempty"`
	Model        string             `json:"model"`           // "known = c1·read" or "polynomial of order 2"
	Criterion    string             `json:"criterion"`       // by what the model was chosen
	Candidates   []CalibrationModel `json:"candidates"`      // all that were tried
	Coefficients []float64          `json:"coefficients_si"` // of read⁰, read¹ …, flows in m³/s [SI]; a factor has 0 before it
	U            []float64          `json:"u_si"`            // their standard uncertainties [SI]
	Covariance   [][]float64        `json:"covariance_si"`   // of the coefficients [SI]
	Birge        float64            `json:"birge"`           // residual scatter over what the uncertainties say [-]; 1 by construction when none was stated
	Dof          float64            `json:"dof"`             // degrees of freedom of the covariance [-]; -1: very many, the stated uncertainties speak for it
	Points       []CalibratedPoint  `json:"points"`          // in the order of the file
	Factor       float64            `json:"factor"`          // weighted mean of known over read [-]
	UFactor      float64            `json:"u_factor_rel"`    // its standard uncertainty, relative [-]
	Low          float64            `json:"read_low_m3_s"`   // lowest reading it rests on [m³/s]
	High         float64            `json:"read_high_m3_s"`  // highest [m³/s]
	Check        *CheckChart        `json:"check,omitempty"` // control chart of the check plate since, when the file has flows of it
	Due          bool               `json:"recalibration_due"`
	DueWhy       []string           `json:"due_why"`
	Warnings     []string           `json:"warnings"`
}

// A CalibrationModel is one curve that was tried.
type CalibrationModel struct {
	Model  string  `json:"model"`
	Terms  int     `json:"terms"`
	AICc   float64 `json:"aicc"`      // corrected Akaike criterion; less is better [-]
	Press  float64 `json:"press_rel"` // root mean square of leave-one-out residuals in units of the stated uncertainty [-]
	S      float64 `json:"s"`         // residual standard deviation in units of the stated uncertainty [-]
	Chosen bool    `json:"chosen"`
}

// A CalibratedPoint is one plate beside the curve.
type CalibratedPoint struct {
	Plate    string  `json:"plate"`
	Known    float64 `json:"known_m3_s"`   // [m³/s]
	Read     float64 `json:"read_m3_s"`    // [m³/s]
	Fitted   float64 `json:"fitted_m3_s"`  // curve at Read [m³/s]
	Residual float64 `json:"residual_rel"` // known over fitted, less one [-]
	UPoint   float64 `json:"u_point_rel"`  // standard uncertainty of the point that it was weighted by [-]
	UCurve   float64 `json:"u_curve_rel"`  // standard uncertainty of the curve there [-]
	Leverage float64 `json:"leverage"`     // how much the point pulls its own fitted value [-]
}

// Calibrate fits the curve of a calibration: known over read flow by weighted least squares, its order by the corrected
// Akaike criterion. A plain factor is preferred when a longer curve is not better by more than 2. today, when not zero, is
// the day for which it is said whether a new calibration is due; else that is the last day of the file.
func Calibrate(c job.Calibration, today time.Time) (CalibrationAnswer, error) {
	x, y, u, warnings, err := calibrationData(c)
	if err != nil {
		return CalibrationAnswer{}, err
	}
	curves, err := curvesOf(x, y, u)
	if err != nil {
		return CalibrationAnswer{}, fault.Errorf(fault.Invalid, "calibration: %w", err)
	}
	best := choose(curves)
	out := CalibrationAnswer{
		Title: c.Title, Model: best.name, Criterion: "corrected Akaike criterion: the shortest within 2 of the least",
		Points: []CalibratedPoint{}, Low: slices.Min(x), High: slices.Max(x), Warnings: append(warnings, measureWords(best.fit.Warnings)...),
		Birge: best.fit.S, DueWhy: []string{}, Dof: -1,
	}
	if stated := c.Points[0].UKnown > 0 || c.Points[0].URead > 0; !stated || best.fit.S > 1 {
		out.Dof = best.fit.Dof
	}
	for _, k := range curves {
		out.Candidates = append(out.Candidates, CalibrationModel{Model: k.name, Terms: len(k.fit.Coef), AICc: finite(k.aicc), Press: k.press, S: finite(k.fit.S), Chosen: k.name == best.name})
	}
	out.Coefficients, out.U, out.Covariance = best.monomials()
	out.share(c.UCommon)
	out.Factor = curves[0].fit.Coef[0]
	if f := out.Factor; f < 1/farOff || f > farOff {
		out.Warnings = append(out.Warnings, fmt.Sprintf("the plates pass %.3g times what was read: no meter in order is that far off; see whether known and read are in the units of their columns, and not changed over", f))
	}
	out.UFactor = math.Hypot(math.Sqrt(curves[0].fit.Covariance()[0][0])/out.Factor, c.UCommon)
	for i, p := range c.Points {
		at := best.at(p.Read)
		out.Points = append(out.Points, CalibratedPoint{
			Plate: p.Plate, Known: p.Known, Read: p.Read, Fitted: at, Residual: p.Known/at - 1, UPoint: u[i] / p.Known,
			UCurve: math.Hypot(best.u(p.Read)/at, c.UCommon), Leverage: best.fit.Leverage[i],
		})
	}
	return out, out.due(c, today)
}

// farOff is the factor of known over read flow beyond which a wrong unit is likelier than the meter: litres a second are 2.1 cfm, and a
// plate of a known coefficient is seldom off by a tenth. Common practice, no source.
const farOff = 1.3

// At returns the curve at a flow read and its standard uncertainty there [m³/s].
func (a CalibrationAnswer) At(read float64) (known, u float64) {
	power := make([]float64, len(a.Coefficients))
	for i := range power {
		power[i] = math.Pow(read, float64(i))
	}
	sum := 0.0
	for i, b := range a.Coefficients {
		known += b * power[i]
		for j := range a.Coefficients {
			sum += power[i] * a.Covariance[i][j] * power[j]
		}
	}
	return known, math.Sqrt(max(0, sum))
}

// Card returns the curve as a bench card carries it, under a name, for the calibration it was fitted to.
func (a CalibrationAnswer) Card(c job.Calibration, id string) ([]byte, error) {
	if c.At.IsZero() {
		return nil, fault.Errorf(fault.Invalid, "the calibration has no day: write at = 2026-05-02 in its file, so that a bench card can say when it is due")
	}
	k := job.Curve{
		ID: id, Title: c.Title, At: c.At, Every: c.Every, From: a.Low, To: a.High, Coefficients: a.Coefficients, Dof: max(0, a.Dof),
	}
	for i, row := range a.Covariance {
		k.Covariance = append(k.Covariance, row[:i+1]...)
	}
	card, err := k.Card()
	if err != nil {
		return nil, err
	}
	// What was written is read back, so that a card never fails on a bench.
	if _, err := job.LoadBench("curve "+id, append([]byte(curveProbe), card...)); err != nil {
		return nil, fault.As(fault.Invalid, err)
	}
	return card, nil
}

// curveProbe is the least bench card that a curve can be read in.
const curveProbe = "id = \"bench\"\nmeters = [{id = \"m\", kind = \"orifice_chamber\", bore = \"50 mm\"}]\nsensors = [{channel = \"t\", role = \"test_dp\"}]\n"

// share adds to the coefficients the uncertainty that all plates share: it scales the curve as a whole.
func (a *CalibrationAnswer) share(common float64) {
	for i, b := range a.Coefficients {
		for j, c := range a.Coefficients {
			a.Covariance[i][j] += common * common * b * c
		}
		a.U[i] = math.Sqrt(a.Covariance[i][i])
	}
	if common == 0 {
		a.Warnings = append(a.Warnings, "nothing is said of what all plates share (u_common): plates of one certificate do not average it out, and the curve is then less certain than printed")
	}
}

// calibrationData returns reading, known flow and the uncertainty of each point [m³/s].
func calibrationData(c job.Calibration) (x, y, u []float64, warnings []string, err error) {
	warnings = []string{}
	stated := 0
	for _, p := range c.Points {
		x, y, u = append(x, p.Read), append(y, p.Known), append(u, p.Known*math.Hypot(p.UKnown, p.URead))
		if p.UKnown > 0 || p.URead > 0 {
			stated++
		}
	}
	if len(x) < 3 {
		return nil, nil, nil, nil, fault.Errorf(fault.Invalid, "calibration: %d points where at least 3 are needed, so that the plates can contradict the curve: %w", len(x), measure.ErrTooFew)
	}
	if low, high := slices.Min(x), slices.Max(x); high < 1.2*low {
		warnings = append(warnings, fmt.Sprintf("the readings span only %.0f %%: the curve says nothing about other flows", 100*(high/low-1)))
	}
	if stated > 0 && stated < len(x) {
		return nil, nil, nil, nil, fault.Errorf(fault.Invalid, "calibration: %d of %d points state an uncertainty: state it for all of them or for none", stated, len(x))
	}
	if stated == 0 {
		s := relativeScatter(x, y)
		if s < 1e-9 {
			return nil, nil, nil, nil, fault.Errorf(fault.Invalid, "calibration: every plate lies on the curve to the last digit and no uncertainty is stated: state u_known: %w", measure.ErrNoScatter)
		}
		for i := range u {
			u[i] = s * y[i]
		}
		warnings = append(warnings, fmt.Sprintf("no uncertainty is stated: every point is taken to scatter by the same share, %.2g %% by the residuals; what the plates share is not seen in it", 100*s))
	}
	return x, y, u, warnings, nil
}

// relativeScatter returns the standard deviation of the points about a factor, or about a straight line where there are enough
// points, relative [-].
func relativeScatter(x, y []float64) float64 {
	k := curve{name: factorName, x: [][]float64{x}}
	if len(x) > 4 {
		k.x = [][]float64{ones(len(x)), x}
	}
	f, err := measure.FitLinear(k.x, y, measure.FitOptions{U: y, NoConstant: len(k.x) == 1})
	if err != nil {
		return 0
	}
	return f.S
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// A curve is one model of known over read flow.
type curve struct {
	name  string
	fit   measure.Fit
	poly  *measure.Poly // nil for a factor
	aicc  float64
	press float64
	x     [][]float64
}

const factorName = "known = c1·read"

// curvesOf fits a factor and polynomials of order 1 to 3; the factor is the first.
func curvesOf(x, y, u []float64) ([]curve, error) {
	f, err := measure.FitLinear([][]float64{x}, y, measure.FitOptions{U: u, NoConstant: true})
	if err != nil {
		return nil, err
	}
	out := []curve{factorCurve(f, u)}
	distinct := slices.Compact(slices.Sorted(slices.Values(x)))
	_, all, err := measure.FitOrder(x, y, min(3, len(distinct)-1), measure.ByAICc, measure.FitOptions{U: u})
	if err != nil {
		return nil, err
	}
	for i := range all {
		if p := &all[i]; p.Order > 0 {
			out = append(out, curve{name: fmt.Sprintf("polynomial of order %d", p.Order), fit: p.Fit, poly: p, aicc: p.AICc, press: p.Press})
		}
	}
	return out, nil
}

// factorCurve works out for a factor the criteria that measure.FitPoly gives a polynomial.
func factorCurve(f measure.Fit, u []float64) curve {
	n, k := float64(len(u)), 2.0 // the factor and the variance
	c := curve{name: factorName, fit: f, aicc: math.Inf(1)}
	if n > k+1 {
		c.aicc = n*math.Log(f.SS/n) + 2*k + 2*k*(k+1)/(n-k-1)
	}
	sum := 0.0
	for i, r := range f.Residuals {
		d := r / u[i] / (1 - f.Leverage[i])
		sum += d * d
	}
	c.press = math.Sqrt(sum / n)
	return c
}

// choose returns the shortest curve within 2 of the least AICc. Source: as measure.FitOrder.
func choose(curves []curve) curve {
	least := math.Inf(1)
	for _, c := range curves {
		least = min(least, c.aicc)
	}
	for _, c := range curves {
		if c.aicc <= least+2 {
			return c
		}
	}
	return curves[0]
}

// at returns the curve at a reading [m³/s].
func (c curve) at(x float64) float64 {
	if c.poly == nil {
		return c.fit.Coef[0] * x
	}
	return c.poly.At(x)
}

// u returns the standard uncertainty of the curve at a reading [m³/s].
func (c curve) u(x float64) float64 {
	if c.poly == nil {
		return math.Sqrt(c.fit.Variance([]float64{x}))
	}
	return c.poly.U(x)
}

// monomials returns the coefficients of read⁰, read¹ … with their uncertainties and covariance.
func (c curve) monomials() (b, u []float64, cov [][]float64) {
	if c.poly == nil {
		v := c.fit.Covariance()[0][0]
		return []float64{0, c.fit.Coef[0]}, []float64{0, math.Sqrt(v)}, [][]float64{{0, 0}, {0, v}}
	}
	b, u = c.poly.Monomial()
	m := monomialsOf(c.poly.Order, c.poly.Middle, c.poly.Half)
	in := c.fit.Covariance()
	cov = make([][]float64, len(b))
	for i := range b {
		cov[i] = make([]float64, len(b))
		for j := range b {
			for k := range b {
				for l := range b {
					cov[i][j] += m[k][i] * in[k][l] * m[l][j]
				}
			}
		}
	}
	return b, u, cov
}

// monomialsOf returns, for each Chebyshev polynomial of (x − middle)/half up to an order, its coefficients of the rising powers of x.
func monomialsOf(order int, middle, half float64) [][]float64 {
	m := make([][]float64, order+1)
	shift := func(p []float64, f float64) []float64 { // f·(x − middle)/half·p
		out := make([]float64, order+1)
		for i, v := range p {
			out[i] -= f * v * middle / half
			if i < order {
				out[i+1] += f * v / half
			}
		}
		return out
	}
	m[0] = make([]float64, order+1)
	m[0][0] = 1
	for k := 1; k <= order; k++ {
		if k == 1 {
			m[1] = shift(m[0], 1)
			continue
		}
		m[k] = shift(m[k-1], 2)
		for i := range m[k] {
			m[k][i] -= m[k-2][i]
		}
	}
	return m
}

// finite returns v, or -1 where JSON has no number for it.
func finite(v float64) float64 {
	if v-v != 0 {
		return -1
	}
	return v
}

// due says whether a new calibration is due: the time has passed, or the check plate is out of control.
func (a *CalibrationAnswer) due(c job.Calibration, today time.Time) error {
	every, last := job.CalibrationLife(c.Every), c.At
	flows, points := make([]float64, 0, len(c.Checks)), make([]CheckPoint, 0, len(c.Checks))
	for i, k := range c.Checks {
		if k.At.After(last) {
			last = k.At
		}
		flows, points = append(flows, k.Flow), append(points, CheckPoint{Label: fmt.Sprintf("check %d", i+1), At: k.At, Value: k.Flow})
	}
	if today.IsZero() {
		today = last
	}
	if !c.At.IsZero() && today.Sub(c.At).Seconds() > every {
		a.DueWhy = append(a.DueWhy, fmt.Sprintf("the calibration of %s is %.0f days old, more than %.0f", c.At.Format(time.DateOnly), today.Sub(c.At).Hours()/24, every/86400))
	}
	if len(flows) == 0 {
		a.Due = len(a.DueWhy) > 0
		return nil
	}
	chart, err := chartOf(flows, points)
	if err != nil {
		return fault.Errorf(fault.Invalid, "check plate: %w", err)
	}
	a.Check = &chart
	if n := len(chart.Points); n > 0 && len(chart.Points[n-1].Signals) > 0 {
		a.DueWhy = append(a.DueWhy, "the last flow of the check plate is out of control: "+chart.Points[n-1].Signals[0])
	}
	a.Due = len(a.DueWhy) > 0
	return nil
}
