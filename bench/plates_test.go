package bench_test

import (
	"math"
	"strings"
	"testing"
	"time"

	"runnel/bench"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

// calibratedBench is the test bench with a curve of known plates on its meter.
func calibratedBench(c job.Curve) job.Bench {
	card := benchCard()
	c.ID, c.At = "spring", start().AddDate(0, -1, 0)
	card.Calibrations = []job.Curve{c}
	card.Meters[0].Calibration = "spring"
	return card
}

// byEye takes one reading by hand at a pressure difference of the meter [Pa].
func byEye(t testing.TB, card job.Bench, id string, dp float64) bench.Reading {
	t.Helper()
	got, err := sitting(t, card, sittingCard(), nil).Read(job.Reading{ID: id, At: minutes(30), MeterDP: dp, TestPressure: 28 * unit.InH2O, UByEye: 1e-6}, rigCard(), nil, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// square is a curve with a covariance, and what it makes of a flow read: known, and the sensitivity of the relative flow to
// each coefficient.
func square() job.Curve {
	return job.Curve{From: 0.02, To: 0.2, Coefficients: []float64{4e-4, 1.012, -0.03}, Covariance: []float64{4e-8, -3e-7, 9e-6, 1e-7, -4e-6, 1e-4}}
}

func gradient(c job.Curve, read float64) [3]float64 {
	known := c.Coefficients[0] + c.Coefficients[1]*read + c.Coefficients[2]*read*read
	return [3]float64{1 / known, read / known, read * read / known}
}

// quadratic returns gᵀVh for a covariance by the rows of its lower triangle.
func quadratic(v []float64, g, h [3]float64) (sum float64) {
	for i := range 3 {
		for j := range 3 {
			k, l := max(i, j), min(i, j)
			sum += g[i] * v[k*(k+1)/2+l] * h[j]
		}
	}
	return sum
}

// The flow is what the polynomial makes of the flow read, the curve's uncertainty is gᵀVg (JCGM 100:2008, 5.2.2), and the parts
// of the meter that the plates have measured are not counted again.
func TestCalibrationOfTheBench(t *testing.T) {
	plain := byEye(t, benchCard(), "r", 1500)
	c := square()
	got := byEye(t, calibratedBench(c), "r", 1500)
	read := plain.Mass / plain.Room.Density
	near(t, "flow", got.Mass/got.Room.Density, 4e-4+1.012*read-0.03*read*read, 1e-12, 0)
	near(t, "area over area", got.EffectiveArea/plain.EffectiveArea, got.Mass/plain.Mass, 1e-12, 0)
	var u2 float64
	for _, l := range got.Budget.Lines {
		switch {
		case strings.HasPrefix(l.Key, "calibration/spring/"):
			u2 += l.Contribution() * l.Contribution()
		case l.Key == "meter/plate/C", l.Key == "meter/plate/D", l.Key == "meter/plate/d":
			t.Errorf("line %q is counted beside the calibration", l.Key)
		}
	}
	g := gradient(c, read)
	// The straight line of the budget is a difference over 1e-4 of each part: round-off only.
	near(t, "u of the curve", math.Sqrt(u2)/got.EffectiveArea, math.Sqrt(quadratic(c.Covariance, g, g)), 1e-6, 0)
	if uOf(t, got, "meter/plate/eps") <= 0 {
		t.Error("the expansibility, which the plates have not measured, is not counted")
	}
	if len(got.Warnings) != len(plain.Warnings) {
		t.Errorf("warnings %v, want those without a calibration, %v", got.Warnings, plain.Warnings)
	}
}

// Two readings on one calibration share it: in their ratio only the difference of the two sensitivities is left, and nothing
// when the flows are alike.
func TestCalibrationIsShared(t *testing.T) {
	c := square()
	card := calibratedBench(c)
	left := func(a, b bench.Reading) (sum float64) {
		t.Helper()
		v, err := bench.Compare([]bench.Reading{a}, []bench.Reading{b}, bench.CompareOptions{})
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, x := range v.Cancelled {
			if strings.HasPrefix(x.Key, "calibration/") {
				sum, found = sum+x.Left*x.Left, found+1
			}
		}
		if found != 3 {
			t.Errorf("%d parts of the calibration in common, want 3: %v", found, v.Cancelled)
		}
		return math.Sqrt(sum)
	}
	a, b := byEye(t, card, "a", 1500), byEye(t, card, "b", 3000)
	if l := left(a, byEye(t, card, "a2", 1500)); l > 1e-9 {
		t.Errorf("of two readings alike %v is left", l)
	}
	at := func(dp float64) [3]float64 {
		r := byEye(t, benchCard(), "p", dp)
		return gradient(c, r.Mass/r.Room.Density)
	}
	ga, gb := at(1500), at(3000)
	d := [3]float64{gb[0] - ga[0], gb[1] - ga[1], gb[2] - ga[2]}
	near(t, "left of two flows", left(a, b), math.Sqrt(quadratic(c.Covariance, d, d)), 1e-4, 0)
}

// Beyond the flows that were calibrated the factor of the end stands, with a warning; so does a calibration that is too old, and
// it is said to be due.
func TestCalibrationLimits(t *testing.T) {
	c := square()
	plain := byEye(t, benchCard(), "r", 1500)
	read := plain.Mass / plain.Room.Density
	c.From, c.To = read/4, read/2
	got := byEye(t, calibratedBench(c), "r", 1500)
	near(t, "factor held", got.Mass/plain.Mass, (4e-4+1.012*c.To-0.03*c.To*c.To)/c.To, 1e-12, 0)
	if !warns(got, "calibration spring: flow read from") {
		t.Errorf("warnings %v, want one of the range", got.Warnings)
	}
	card := calibratedBench(square())
	if warns(byEye(t, card, "r", 1500), "recalibration is due") {
		t.Error("a calibration a month old is due")
	}
	card.Calibrations[0].Every = (20 * 24 * time.Hour).Seconds()
	if !warns(byEye(t, card, "r", 1500), "recalibration is due") {
		t.Error("a calibration older than its card allows is not due")
	}
	card.Meters[0].Calibration = "autumn"
	if _, err := bench.NewSetup(card); err == nil || !strings.Contains(err.Error(), "autumn") {
		t.Errorf("a calibration that is not there: %v", err)
	}
}

func warns(r bench.Reading, text string) bool {
	for _, w := range r.Warnings {
		if strings.Contains(w.Limit, text) {
			return true
		}
	}
	return false
}

// The check plate and the drawn budget go by the calibration as the reading does.
func TestCalibrationIsDrawn(t *testing.T) {
	sit, r, traces := drawing(t, calibratedBench(square()))
	first, err := sit.Read(r, rigCard(), traces, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	d, err := sit.Propagate(seeded(1), r, rigCard(), traces, measure.PropagateOptions{Draws: 50_000})
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mean", d.Mean, first.EffectiveArea, 1e-4, 0)
	near(t, "u", d.U, first.Budget.Combined(), 0.015, 0)
	card := calibratedBench(job.Curve{From: 0.001, To: 1, Coefficients: []float64{0, 1.02}, Covariance: []float64{0, 0, 1e-6}})
	s, traces := sittingCard(), map[string]job.Trace{}
	w := truth{meter: plate(), air: air(), area: 600e-6}
	traces["p"] = trace(seeded(5), "meter_dp", w.reading(t, 7e3, 2e4), 7e3)
	s.Checks = []job.PlateCheck{{Trace: "p", Meter: "plate", At: minutes(5)}}
	near(t, "check plate", sitting(t, card, s, traces).Checks[0].Deviation, 0.02, 0, 1e-3)
}

// A plate on a percent scale is typed by what its scale shows: 60 % of 300 cfm at the conditions of the scale is a known mass flow.
// What does not fit the meter is refused with what to type.
func TestReadByHandOnAPercentScale(t *testing.T) {
	const drop = 28 * unit.InH2O
	card := benchCard()
	card.Meters[0] = job.Meter{ID: "plate", Kind: "plate_percent", FullScale: 300 * cfm, FullScaleAt: drop, UCoefficient: 0.01}
	card.Sensors[0] = job.Sensor{Channel: "shown", Role: "meter_reading", Unit: "%", U: "0.5 %"}
	s := sittingCard()
	s.Air[0] = job.AirRecord{At: start(), Pressure: 101325, Temperature: 293.15}
	s.Zero = nil
	sit := sitting(t, card, s, nil)
	got, err := sit.Read(job.Reading{ID: "r", At: minutes(30), Scale: 0.6, TestPressure: drop, UByEye: 0.004}, rigCard(), nil, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mass flow of 60 %", got.Mass, 0.6*300*cfm*got.Room.Density, 1e-9, 0)
	near(t, "calibration", uOf(t, got, "meter/plate/calibration"), 0.01, 1e-6, 0)
	near(t, "sensor", uOf(t, got, "sensor/shown"), 0.005/0.6, 1e-6, 0)
	if !got.Typed {
		t.Error("it does not say that it was typed")
	}
	for _, c := range []struct {
		name, want string
		sit        *bench.Sitting
		r          job.Reading
	}{
		{"a pressure for a scale", "type scale", sit, job.Reading{MeterDP: 1500, TestPressure: drop}},
		{"a scale for a pressure", "meter_dp", sitting(t, benchCard(), sittingCard(), nil), job.Reading{Scale: 0.6, TestPressure: drop}},
	} {
		if _, err := c.sit.Read(c.r, rigCard(), nil, reference(t)); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v, want %q", c.name, err, c.want)
		}
	}
}
