package meter_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"runnel/gas"
	"runnel/meter"
)

// From memory: the critical-flow function of a perfect gas with γ = 1.4 is 0.684731 (0.6847 in every textbook). With C from
// the formula printed beside CriticalC the mass flow of a 10 mm throat from still air follows by hand.
func TestCriticalNozzle(t *testing.T) {
	up := roomAir()
	f, err := meter.Critical{Bore: 0.01}.Flow(up, 60e3)
	if err != nil {
		t.Fatal(err)
	}
	ideal := math.Pi / 4 * 1e-4 * 0.684731 * up.Pressure / math.Sqrt(287.0528*up.Temperature)
	c := 0.9959 - 2.720/math.Sqrt(4*f.Mass/(math.Pi*0.01*up.Viscosity))
	near(t, "mass flow", f.Mass, c*ideal, 1e-6, 0)
	near(t, "C", f.Coefficient, c, 1e-12, 0)
	near(t, "standard uncertainty: 0.15 % and 0.05 %", f.URel, math.Hypot(0.0015, 0.0005), 1e-12, 0)
	if len(f.Warnings) != 0 {
		t.Errorf("warnings %v, want none", f.Warnings)
	}
}

// In a pipe the air moves before the nozzle, so its stagnation pressure is above the static: at a quarter of the diameter
// the Mach number is that of A/A* = 16, 0.0362, which NACA Report 1135 (by gas.IsentropicAt) ties to p/p0.
func TestCriticalNozzleInAPipe(t *testing.T) {
	up := roomAir()
	still, err := meter.Critical{Bore: 0.01}.Flow(up, 60e3)
	if err != nil {
		t.Fatal(err)
	}
	pipe, err := meter.Critical{Bore: 0.01, Pipe: 0.04}.Flow(up, 60e3)
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := 0.001, 0.2
	for range 60 {
		if mid := (lo + hi) / 2; gas.IsentropicAt(mid, 1.4).Area > 16 {
			lo = mid
		} else {
			hi = mid
		}
	}
	s := gas.IsentropicAt(lo, 1.4)
	near(t, "pipe over still air, per coefficient", pipe.Mass/still.Mass*still.Coefficient/pipe.Coefficient,
		1/s.Pressure*math.Sqrt(s.Temperature), 1e-9, 0)
}

func TestCriticalNozzleMustBeChoked(t *testing.T) {
	up := roomAir()
	if _, err := (meter.Critical{Bore: 0.01}).Flow(up, 40e3); !errors.Is(err, meter.ErrNotChoked) {
		t.Errorf("error %v, want ErrNotChoked", err)
	}
	if _, err := (meter.Critical{Bore: 0.01, BackPressure: 0.8}).Flow(up, 40e3); err != nil {
		t.Errorf("with a diffuser proven to 0.8: %v", err)
	}
}

// By definition a laminar element shows its calibration flow at its calibration point, half of it (but for the mean
// density) at half the difference, and less in thicker gas.
func TestLaminarElement(t *testing.T) {
	up := roomAir()
	l := meter.Laminar{VolumeFlow: 0.1, Difference: 2000, Upstream: up, UCal: 0.005}
	mass := func(up meter.Upstream, dp float64) float64 {
		f, err := l.Flow(up, dp)
		if err != nil {
			t.Fatal(err)
		}
		return f.Mass
	}
	near(t, "at its calibration", mass(up, 2000), 0.1*up.Density, 1e-14, 0)
	near(t, "half the difference", mass(up, 1000), 0.1*up.Density/2*(1-500/101325.0)/(1-1000/101325.0), 1e-14, 0)
	thick := up
	thick.Viscosity *= 1.1
	near(t, "thicker gas", mass(thick, 2000), 0.1*up.Density/1.1, 1e-14, 0)
	f, err := l.Flow(up, 2100)
	if err != nil || !outside(f, "laminar element") {
		t.Errorf("above the calibration: warnings %v, %v; want one", f.Warnings, err)
	}
}

// By definition 100 % in the air of the calibration is the full-scale flow, and at the same pressure difference mass goes
// as the square root of density.
func TestPercentScale(t *testing.T) {
	up := roomAir()
	p := meter.Percent{FullScale: 0.15, Density: 1.2, PlateDensity: up.Density, UCal: 0.01}
	f, err := p.Flow(up, 1)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "full scale", f.Mass, 0.15*1.2, 1e-14, 0)
	up.Density *= 0.9
	g, err := p.Flow(up, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "half scale in thin air", g.Mass, 0.5*f.Mass*math.Sqrt(0.9), 1e-14, 0)
	for scale, want := range map[float64]bool{0: false, 0.1: true, 0.2: false, 1: false, 1.05: true} {
		h, err := p.Flow(up, scale)
		if err != nil || outside(h, "percent scale") != want {
			t.Errorf("scale %v: warnings %v, %v", scale, h.Warnings, err)
		}
	}
}

// A transfer curve goes through its points, is straight where they are, does not overshoot a step and ends at its ends.
func TestTable(t *testing.T) {
	points := []meter.Point{{1, 0.01}, {2, 0.02}, {3, 0.03}, {4, 0.03}, {5, 0.2}}
	table, err := meter.NewTable(points, 0.01)
	if err != nil {
		t.Fatal(err)
	}
	mass := func(x float64) float64 {
		f, err := table.Flow(roomAir(), x)
		if err != nil {
			t.Fatal(err)
		}
		return f.Mass
	}
	for _, p := range points {
		near(t, "at a point", mass(p.Reading), p.Mass, 1e-13, 0)
	}
	near(t, "on the straight", mass(1.37), 0.0137, 1e-12, 0)
	near(t, "on the flat", mass(3.6), 0.03, 1e-12, 0)
	for _, x := range []float64{0.999, 5.001, 0} {
		if _, err := table.Flow(roomAir(), x); !errors.Is(err, meter.ErrOutsideTable) {
			t.Errorf("reading %v: error %v, want ErrOutsideTable", x, err)
		}
	}
	for _, c := range []struct {
		want   string
		points []meter.Point
		u      float64
	}{
		{"at least two", points[:1], 0.01},
		{"point 2 of the transfer curve: reading 1 does not rise", []meter.Point{{1, 0}, {1, 1}}, 0.01},
		{"point 3 of the transfer curve: mass flow 0.5 kg/s falls", []meter.Point{{1, 0}, {2, 1}, {3, 0.5}}, 0.01},
		{"point 1 of the transfer curve", []meter.Point{{math.NaN(), 0}, {2, 1}}, 0.01},
		{"mass flow of point 2", []meter.Point{{1, 0}, {2, math.Inf(1)}}, 0.01},
		{"uncertainty of the transfer curve", points, -1},
	} {
		if _, err := meter.NewTable(c.points, c.u); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want %q", err, c.want)
		}
	}
	if _, err := (meter.Table{}).Flow(roomAir(), 1); err == nil {
		t.Error("a table without points gave a flow")
	}
}

func TestKindsRefuseWhatCannotBe(t *testing.T) {
	up := roomAir()
	for _, c := range []struct {
		want  string
		meter meter.Meter
	}{
		{"diameter ratio beta 0.9", meter.Nozzle{Throat: meter.Throat{Pipe: 0.1, Bore: 0.09}}},
		{"does not fit in a pipe", meter.Venturi{Throat: meter.Throat{Pipe: 0.1, Bore: 0.1}}},
		{"throat diameter 0.03 m: want at most a quarter of the pipe's diameter of 0.03 m", meter.Critical{Bore: 0.03, Pipe: 0.03}},
		{"back-pressure ratio", meter.Critical{Bore: 0.03, BackPressure: 1}},
		{"calibration flow of the laminar element", meter.Laminar{Difference: 100, Upstream: up}},
		{"calibration pressure difference", meter.Laminar{VolumeFlow: 1, Difference: 2e5, Upstream: up}},
		{"full-scale flow", meter.Percent{}},
		{"density before the plate", meter.Percent{FullScale: 1, Density: 1.2}},
	} {
		_, err := c.meter.Flow(up, 1000)
		if e, ok := errors.AsType[*gas.InputError](err); !ok || !strings.Contains(e.Error(), c.want) {
			t.Errorf("%T: error %v, want an input error with %q", c.meter, err, c.want)
		}
	}
}

// A calibrated coefficient stands in for the standard's: mass flow goes with it, and its uncertainty replaces the standard's.
func TestCalibrated(t *testing.T) {
	own := meter.Orifice{Throat: meter.Throat{Pipe: 0.1, Bore: 0.06, UPipe: 0.002, UBore: 0.0005}}
	f, err := own.Flow(roomAir(), 2000)
	if err != nil {
		t.Fatal(err)
	}
	g, err := meter.Calibrated{Meter: own, C: 0.62, UC: 0.001}.Flow(roomAir(), 2000)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "mass flow", g.Mass/f.Mass, 0.62/f.Coefficient, 1e-14, 0)
	near(t, "variance", g.URel*g.URel-f.URel*f.URel, 1e-6-0.0025*0.0025, 1e-9, 0)
	if _, err := (meter.Calibrated{Meter: own, C: 62}).Flow(roomAir(), 2000); err == nil {
		t.Error("a coefficient of 62 was taken")
	}
}
