package bench_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"runnel/bench"
	"runnel/gas"
	"runnel/job"
	"runnel/measure"
	"runnel/meter"
	"runnel/unit"
)

// read takes one reading of a trace on a bench, or ends the test.
func read(t testing.TB, card job.Bench, s job.Sitting, rig job.RigCard, tr job.Trace) bench.Reading {
	t.Helper()
	got, err := sitting(t, card, s, nil).Read(job.Reading{ID: "r", Rig: rig.ID, Opening: "1", At: minutes(30), Trace: "t"}, rig, map[string]job.Trace{"t": tr}, reference(t))
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// A simulated bench has a known area on it; the reading must find it within what the noise of the trace leaves (a few times
// 0.2 %/sqrt(800)), wherever the meter sits, whichever way the air goes and whatever kind the meter is.
func TestReadFindsTheArea(t *testing.T) {
	const area, drop = 9e-4, 28 * unit.InH2O
	room, err := gas.MoistAir{Pressure: 101325, Temperature: 293.15, CO2: gas.StandardCO2}.Properties()
	if err != nil {
		t.Fatal(err)
	}
	laminar := meter.Laminar{VolumeFlow: 0.12, Difference: 2000, Upstream: meter.UpstreamOf(room), UCal: 0.005}
	for _, c := range []struct {
		name string
		card job.Meter
		w    truth
		high float64
	}{
		{"draws, plate behind", job.Meter{Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.06, Taps: "corner"}, truth{meter: plate()}, 2e4},
		{"draws, plate before", job.Meter{Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.06, Taps: "corner", Station: "upstream"}, truth{meter: plate(), upstream: true}, 2e4},
		{"blows, plate before", job.Meter{Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.06, Taps: "corner", Station: "upstream"}, truth{meter: plate(), out: true}, 2e4},
		{"calibrated plate", job.Meter{Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.06, Taps: "corner", Coefficient: 0.62, UCoefficient: 0.002}, truth{meter: meter.Calibrated{Meter: plate(), C: 0.62}}, 2e4},
		{"chamber plate", job.Meter{Kind: "orifice_chamber", Bore: 0.05}, truth{meter: meter.Chamber{Bore: 0.05, Coefficient: 0.6}}, 3e4},
		{"venturi", job.Meter{Kind: "venturi_machined", Pipe: 0.1, Bore: 0.05}, truth{meter: meter.Venturi{Throat: meter.Throat{Pipe: 0.1, Bore: 0.05}, Make: meter.Machined}}, 3e4},
		{"nozzle", job.Meter{Kind: "nozzle_isa1932", Pipe: 0.1, Bore: 0.05}, truth{meter: meter.Nozzle{Throat: meter.Throat{Pipe: 0.1, Bore: 0.05}}}, 3e4},
		{"venturi nozzle", job.Meter{Kind: "nozzle_venturi", Pipe: 0.1, Bore: 0.06}, truth{meter: meter.Nozzle{Throat: meter.Throat{Pipe: 0.1, Bore: 0.06}, Profile: meter.VenturiNozzle}}, 3e4},
		{"laminar element", job.Meter{Kind: "laminar", Laminar: 0.12, LaminarAt: 2000, UCoefficient: 0.005}, truth{meter: laminar}, 5e3},
	} {
		t.Run(c.name, func(t *testing.T) {
			card, rig := benchCard(), rigCard()
			c.card.ID, c.w.air, c.w.area = "plate", air(), area
			card.Meters[0] = c.card
			if c.w.out {
				rig.Direction = "out"
			}
			got := read(t, card, sittingCard(), rig, trace(seeded(3), "meter_dp", c.w.reading(t, drop, c.high), drop))
			near(t, "effective area", got.EffectiveArea, area, 6e-4, 0)
			near(t, "test pressure", got.TestPressure, drop, 1e-3, 0)
			if len(got.Marks) != 0 || got.URel < 0.002 || got.URel > 0.03 {
				t.Errorf("marks %v, relative standard uncertainty %v", got.Marks, got.URel)
			}
		})
	}
}

// A percent scale and a transfer curve are read through their own sensor: 60 % of 300 cfm at the conditions of the scale, and
// a curve in volts. By definition of both, the mass flow is known.
func TestReadOtherScales(t *testing.T) {
	const drop = 28 * unit.InH2O
	card, rig, r := benchCard(), rigCard(), seeded(5)
	room, err := gas.MoistAir{Pressure: 101325, Temperature: 293.15, CO2: gas.StandardCO2}.Properties()
	if err != nil {
		t.Fatal(err)
	}
	s := sittingCard()
	s.Air[0] = job.AirRecord{At: start(), Pressure: 101325, Temperature: 293.15}
	s.Zero[0].Channel, s.Zero[1].Channel = "shown", "shown"
	s.Zero[0].Value, s.Zero[1].Value = "0 %", "0 %"
	card.Meters[0] = job.Meter{ID: "plate", Kind: "plate_percent", FullScale: 300 * cfm, FullScaleAt: drop, UCoefficient: 0.01}
	card.Sensors[0] = job.Sensor{Channel: "shown", Role: "meter_reading", Unit: "%", U: "0.5 %"}
	got := read(t, card, s, rig, trace(r, "shown", 0.6, drop))
	near(t, "mass flow of 60 %", got.Mass, 0.6*300*cfm*room.Density, 1e-3, 0)
	// Half a per cent of scale at 60 % is 0.83 % of flow; the calibration adds 1 %.
	if got.URel < 0.013 || got.URel > 0.0145 {
		t.Errorf("relative standard uncertainty %v, want about sqrt(0.01² + 0.0083²)", got.URel)
	}
	s.Zero[0].Value, s.Zero[1].Value = "0 V", "0 V"
	card.Meters[0] = job.Meter{ID: "plate", Kind: "table", Table: []job.TablePoint{{Reading: 0, MassFlow: 0}, {Reading: 5000, MassFlow: 0.5}}, UCoefficient: 0.01}
	card.Sensors[0] = job.Sensor{Channel: "shown", Role: "meter_reading", Unit: "mV", U: "5 mV"}
	got = read(t, card, s, rig, trace(r, "shown", 1.25, drop))
	near(t, "mass flow at 1250 mV", got.Mass, 0.125, 1e-3, 0)
	near(t, "5 mV of 1250 mV and 1 %", uOf(t, got, "sensor/shown"), 0.004, 1e-3, 0)
}

// uOf returns the relative contribution of the line with a key.
func uOf(t testing.TB, r bench.Reading, key string) float64 {
	t.Helper()
	for _, l := range r.Budget.Lines {
		if l.Key == key {
			return math.Abs(l.Contribution()) / r.EffectiveArea
		}
	}
	t.Fatalf("no line %q in the budget", key)
	return 0
}

// What a bench does to its signals, the reading undoes: a sensor that shows 1.02·x + 40 Pa, a zero that drifts, a leak.
func TestReadUndoesTheBench(t *testing.T) {
	const area, drop = 9e-4, 7e3
	card, s, rig := benchCard(), sittingCard(), rigCard()
	card.Sensors[0].Calibration = []float64{-40 / 1.02, 1 / 1.02}
	// Zero shown at 09:00 and 10:00 by the raw sensor: 40 + 6 Pa and 40 + 12 Pa; the reading is at 09:30, so 49 Pa.
	s.Zero[0].Value, s.Zero[1].Value = "46 Pa", "52 Pa"
	a, err := air().Properties()
	if err != nil {
		t.Fatal(err)
	}
	s.Leakage = []job.LeakPoint{{TestPressure: 5e3, Flow: 1e-3 * math.Pow(5./7, 0.6)}, {TestPressure: 6e3, Flow: 1e-3 * math.Pow(6./7, 0.6)}, {TestPressure: 7e3, Flow: 1e-3}}
	w := truth{meter: plate(), air: air(), area: area, leak: 1e-3 * a.Density}
	tr := trace(seeded(9), "meter_dp", w.reading(t, drop, 2e4), drop)
	for i := range tr.Channels[0].Values {
		tr.Channels[0].Values[i] = 1.02*tr.Channels[0].Values[i] + 40 + 9
	}
	got := read(t, card, s, rig, tr)
	near(t, "effective area", got.EffectiveArea, area, 6e-4, 0)
	near(t, "leakage", got.Leak, 1e-3*a.Density, 2e-3, 0)
	// The zero drifted by 6/1.02 Pa; half of it is the rectangular bound.
	dp := w.reading(t, drop, 2e4)
	near(t, "zero line", uOf(t, got, "zero/s1/meter_dp"), 6/1.02/2/math.Sqrt(3)/dp/2, 0.03, 0)
	if len(got.Marks) != 0 {
		t.Errorf("marks %v, want none", got.Marks)
	}
}

// What was typed is what the sensors show: it is corrected as the same numbers in a trace are, by calibration, zero and the fluid of a column,
// with the same lines of the budget; a reading that was corrected already says so.
func TestTypedIsCorrectedAsATraceIs(t *testing.T) {
	const shown, drop = 1500.0, 28 * unit.InH2O
	card, s := benchCard(), sittingCard()
	card.Sensors[0].Calibration = []float64{0, 1.10}
	card.Sensors[1].Fluid, card.Sensors[1].FluidTemp = "water", 303.15
	s.Zero[0].Value, s.Zero[1].Value = "20 Pa", "26 Pa"
	tr := trace(seeded(9), "meter_dp", shown, drop)
	for i := range tr.Time { // a still trace but for a waver that averages out
		waver := 1e-4 * float64(i%2*2-1)
		tr.Channels[0].Values[i], tr.Channels[1].Values[i] = shown*(1+waver), drop*(1+waver)
	}
	sit := sitting(t, card, s, nil)
	typed := func(r job.Reading) bench.Reading {
		t.Helper()
		r.ID, r.Opening, r.At, r.UByEye = "r", "1", minutes(30), 0.002
		got, err := sit.Read(r, rigCard(), map[string]job.Trace{"t": tr}, reference(t))
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	want, got := typed(job.Reading{Trace: "t"}), typed(job.Reading{MeterDP: shown, TestPressure: drop})
	near(t, "effective area", got.EffectiveArea, want.EffectiveArea, 1e-5, 0)
	near(t, "test pressure", got.TestPressure, want.TestPressure, 1e-6, 0)
	for _, key := range []string{"zero/s1/meter_dp", "sensor/meter_dp"} {
		near(t, key, uOf(t, got, key), uOf(t, want, key), 1e-3, 0)
	}
	// Water of 30 °C has 995.65 kg/m³ (CRC tables), and 1.2 kg/m³ of air stand above it: the scale shows 0.56 % too much.
	corrected := typed(job.Reading{MeterDP: 1.10 * (shown - 23), TestPressure: drop * (995.65 - 1.2) / 1000, Typed: "corrected"})
	near(t, "corrected by hand", corrected.EffectiveArea, want.EffectiveArea, 1e-4, 0)
	near(t, "as shown over taken for corrected", got.Mass/typed(job.Reading{MeterDP: shown, TestPressure: drop, Typed: "corrected"}).Mass, math.Sqrt(1.10*(shown-23)/shown), 2e-3, 0)
}

// The mean of the flow is not the flow of the mean: with a pressure difference that swings by ±30 % (a sine), the flow of
// a plate averages sqrt(1 + 0.3·sin) = 1 − 0.3²/16 − 15·0.3⁴/1024 of that at the mean, 0.57 % less (series of the mean).
func TestReadAveragesTheFlow(t *testing.T) {
	const drop, shown = 7e3, 1500.0
	tr := trace(seeded(11), "meter_dp", shown, drop)
	for i := range tr.Time {
		tr.Channels[0].Values[i] = shown * (1 + 0.3*math.Sin(2*math.Pi*4.2*tr.Time[i]))
	}
	got := read(t, benchCard(), sittingCard(), rigCard(), tr)
	steady := read(t, benchCard(), sittingCard(), rigCard(), trace(seeded(11), "meter_dp", shown, drop))
	near(t, "pulsating over steady flow", got.Mass/steady.Mass, 1-0.09/16-15*0.0081/1024, 0, 5e-4)
}

// Sensitivities by hand, for a small drop: area goes with C, with d by 2/(1 − β⁴), with the square roots of the two pressure
// differences against each other, and hardly with the air, which both meter and piece breathe.
func TestBudgetLines(t *testing.T) {
	const area, drop = 9e-4, 500.0
	w := truth{meter: plate(), air: air(), area: area}
	rig := rigCard()
	rig.TestPressure = drop
	got := read(t, benchCard(), sittingCard(), rig, trace(seeded(13), "meter_dp", w.reading(t, drop, 2e4), drop))
	b4 := math.Pow(0.6, 4)
	near(t, "discharge coefficient", uOf(t, got, "meter/plate/C"), 0.0025, 1e-6, 0)
	near(t, "bore", uOf(t, got, "meter/plate/d"), 5e-4*2/(1-b4), 1e-6, 0)
	near(t, "pipe", uOf(t, got, "meter/plate/D"), 0.002*2*b4/(1-b4), 1e-6, 0)
	near(t, "meter sensor", uOf(t, got, "sensor/meter_dp"), 0.001, 0.02, 0)
	near(t, "test sensor", uOf(t, got, "sensor/test_dp"), 0.001, 0.02, 0)
	near(t, "setting up anew", uOf(t, got, "reading/r/setup"), 0.001, 1e-6, 0)
	for _, key := range []string{"air/pressure", "air/temperature", "air/humidity"} {
		if u := uOf(t, got, key); u > 3e-5 {
			t.Errorf("%s: %v, want next to nothing", key, u)
		}
	}
	if e := got.Expanded.U / got.EffectiveArea; e < 1.9*got.URel || e > 2.1*got.URel {
		t.Errorf("expanded uncertainty %v of a standard one of %v", e, got.URel)
	}
	shares := 0.0
	for _, s := range got.Budget.Shares() {
		shares += s
	}
	near(t, "shares", shares, 1, 1e-12, 0)
}

// 200 benches whose every instrument is off by what its card says: the deviation over the stated uncertainty scatters by one.
// Tolerance: three times the sampling error of a standard deviation of 200, 1/sqrt(400).
func TestBudgetCoversTheTruth(t *testing.T) {
	const drop, area, n = 7e3, 9e-4, 200
	r := seeded(17)
	ref := reference(t)
	sum := 0.0
	for range n {
		built := plate()
		built.Pipe *= 1 + 0.002*r.NormFloat64()
		built.Bore *= 1 + 5e-4*r.NormFloat64()
		a := air()
		a.Pressure += 30 * r.NormFloat64()
		a.Temperature += 0.2 * r.NormFloat64()
		a.Humidity += 0.02 * r.NormFloat64()
		luck := 1 + 0.0025*r.NormFloat64() // of the coefficient
		mount := 1 + 0.001*r.NormFloat64() // of setting up
		byEye := 1 + 0.003*r.NormFloat64() // of the eye
		gainM := 1 + 0.002*r.NormFloat64() // of the meter's sensor
		gainT := 1 + 0.002*r.NormFloat64() // of the other
		w := truth{meter: built, air: a, area: area * mount / luck * byEye}
		got, err := sitting(t, benchCard(), sittingCard(), nil).Read(job.Reading{
			ID: "r", At: minutes(30), MeterDP: w.reading(t, drop, 2e4) * gainM, TestPressure: drop * gainT, UByEye: 0.003,
		}, rigCard(), nil, ref)
		if err != nil {
			t.Fatal(err)
		}
		z := (got.EffectiveArea - area) / got.Budget.Combined()
		sum += z * z
	}
	near(t, "scatter of deviation over uncertainty", math.Sqrt(sum/n), 1, 0, 3/math.Sqrt(2*n))
}

// Every fault of a trace has its name, and none passes for a reading.
func TestReadFaults(t *testing.T) {
	const area, drop = 9e-4, 7e3
	w := truth{meter: plate(), air: air(), area: area}
	shown := w.reading(t, drop, 2e4)
	take := func(spoil func(meter, test []float64), ranged bool) (bench.Reading, error) {
		card := benchCard()
		if ranged {
			lo, hi := 0.0, 2500.0
			card.Sensors[0].Low, card.Sensors[0].High = &lo, &hi
		}
		tr := trace(seeded(19), "meter_dp", shown, drop)
		spoil(tr.Channels[0].Values, tr.Channels[1].Values)
		return sitting(t, card, sittingCard(), nil).Read(job.Reading{ID: "r", At: minutes(30), Trace: "t"}, rigCard(), map[string]job.Trace{"t": tr}, reference(t))
	}
	for _, c := range []struct {
		name  string
		spoil func(meter, test []float64)
		want  error
	}{
		{"frozen meter", func(m, _ []float64) {
			for i := range m {
				m[i] = m[0]
			}
		}, measure.ErrFrozen},
		{"frozen test pressure", func(_, d []float64) {
			for i := range d {
				d[i] = d[0]
			}
		}, measure.ErrFrozen},
		{"meter froze early on", func(m, _ []float64) {
			for i := 60; i < len(m); i++ {
				m[i] = m[60]
			}
		}, measure.ErrFrozen},
		{"clipped meter", func(m, _ []float64) {
			for i := range m {
				m[i] = 2500
			}
		}, measure.ErrClipped},
		{"nothing but empty cells", func(m, _ []float64) {
			for i := range m {
				m[i] = math.NaN()
			}
		}, measure.ErrTooFew},
	} {
		_, err := take(c.spoil, true)
		refused, ok := errors.AsType[*bench.Refused](err)
		if !ok || refused.ID != "r" || !errors.Is(err, c.want) {
			t.Errorf("%s: error %v, want a refusal that wraps %v", c.name, err, c.want)
		}
	}
	got, err := take(func(m, _ []float64) { m[200] *= 1.4; m[210] = math.NaN() }, false)
	if err != nil {
		t.Fatal(err)
	}
	near(t, "area in spite of a spike", got.EffectiveArea, area, 6e-4, 0)
	if !has(got.Faults, measure.FaultSpike) || !has(got.Faults, measure.FaultEmpty) {
		t.Errorf("faults %v, want a spike and an empty cell", got.Faults)
	}
	got, err = take(func(m, _ []float64) {
		for i := range 100 {
			m[i] = m[0]
		}
	}, false)
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Marks) != 1 || !strings.Contains(got.Marks[0], "frozen sensor on meter_dp from 0.00 s to 4.95 s, 100 samples") {
		t.Errorf("marks %q, want the frozen quarter", got.Marks)
	}
	got, err = take(func(m, d []float64) {
		for i := range m {
			m[i] *= 1 + 0.3*float64(i)/400
			d[i] *= 1 + 0.1*float64(i)/400
		}
	}, false)
	if err != nil || len(got.Marks) != 1 || !strings.Contains(got.Marks[0], "no steady part") {
		t.Errorf("a ramp: marks %q, %v", got.Marks, err)
	}
}

func has(faults []measure.Fault, kind measure.FaultKind) bool {
	for _, f := range faults {
		if f.Kind == kind {
			return true
		}
	}
	return false
}

func TestReadRefusesWhatCannotBe(t *testing.T) {
	sit := sitting(t, benchCard(), sittingCard(), nil)
	tr := trace(seeded(23), "meter_dp", 1500, 7e3)
	one := tr
	one.Time, one.Channels = tr.Time[:1], []job.Channel{{Name: "meter_dp", Values: []float64{1}}, {Name: "test_dp", Values: []float64{1}}}
	traces := map[string]job.Trace{"t": tr, "one": one, "short": {Time: tr.Time, Channels: tr.Channels[:1]}, "wrong way": trace(seeded(2), "meter_dp", 1500, -7e3)}
	for _, c := range []struct {
		want string
		r    job.Reading
		rig  job.RigCard
	}{
		{"void: hose fell off", job.Reading{Trace: "t", Void: "hose fell off"}, rigCard()},
		{`trace "gone" is not in the job`, job.Reading{Trace: "gone"}, rigCard()},
		{"no channel of role test_dp", job.Reading{Trace: "short"}, rigCard()},
		{"too few values", job.Reading{Trace: "one"}, rigCard()},
		{"swap the tappings", job.Reading{Trace: "wrong way"}, rigCard()},
		{`meter "none" is not on the bench card: name one of plate, other`, job.Reading{Trace: "t"}, job.RigCard{Meter: "none"}},
		{"test pressure 0 Pa", job.Reading{MeterDP: 1500}, rigCard()},
		{"swap the tappings", job.Reading{MeterDP: -1500, TestPressure: 7e3}, rigCard()},
	} {
		_, err := sit.Read(c.r, c.rig, traces, reference(t))
		if _, ok := errors.AsType[*bench.Refused](err); !ok || !strings.Contains(err.Error(), c.want) {
			t.Errorf("error %v, want a refusal with %q", err, c.want)
		}
	}
}

// The flow of a long trace is taken from a curve through exact points; sample by sample it must be the same within 1e-6, far
// below any meter. Two traces of one signal, just below and above the length from which the curve is used, show it.
func TestLongTraceIsAsExact(t *testing.T) {
	long := func(n int) float64 {
		tr := job.Trace{Time: make([]float64, n), Channels: []job.Channel{{Name: "meter_dp", Values: make([]float64, n)}, {Name: "test_dp", Values: make([]float64, n)}}}
		r := seeded(29)
		var block [256][2]float64
		for i := range block {
			block[i] = [2]float64{1500 * (1 + 0.05*r.NormFloat64()), 7e3 * (1 + 0.002*r.NormFloat64())}
		}
		for i := range n { // whole blocks, so that the means are equal
			tr.Time[i] = float64(i) / 20
			tr.Channels[0].Values[i], tr.Channels[1].Values[i] = block[i%256][0], block[i%256][1]
		}
		return read(t, benchCard(), sittingCard(), rigCard(), tr).Mass
	}
	near(t, "curve over sample by sample", long(2048), long(256), 1e-6, 0)
}
