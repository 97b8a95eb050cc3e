package bench_test

import (
	"math/rand/v2"
	"testing"
	"time"

	"runnel/bench"
	"runnel/gas"
	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

const cfm = unit.CFM

// start is when the test sittings begin.
func start() time.Time { return time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC) }

// minutes after the start.
func minutes(m float64) time.Time { return start().Add(time.Duration(m * float64(time.Minute))) }

// benchCard is an invented bench that draws through a plate in a pipe.
func benchCard() job.Bench {
	return job.Bench{
		ID: "test", SetupRepeat: 0.001,
		Meters: []job.Meter{
			{ID: "plate", Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.06, Taps: "corner", UPipe: 0.002, UBore: 5e-4},
			{ID: "other", Kind: "orifice_pipe", Pipe: 0.1, Bore: 0.055, Taps: "flange", UPipe: 0.002, UBore: 5e-4},
		},
		Sensors: []job.Sensor{
			{Channel: "meter_dp", Role: "meter_dp", Unit: "Pa", U: "0.2 %"},
			{Channel: "test_dp", Role: "test_dp", Unit: "inH2O", U: "0.2 %"},
		},
		CheckPlate: job.CheckPlate{ID: "P", EffectiveArea: 600e-6, U: 0.003},
	}
}

// sittingCard is a sitting of that bench with nothing wrong and no leakage.
func sittingCard() job.Sitting {
	return job.Sitting{
		ID: "s1", At: start(),
		Air: []job.AirRecord{{At: start(), Pressure: 99e3, Temperature: 295.15, Humidity: 0.45, UPressure: 30, UTemp: 0.2, UHumidity: 0.02}},
		Zero: []job.ZeroRecord{
			{At: start(), Channel: "meter_dp", Value: "0 Pa"},
			{At: minutes(60), Channel: "meter_dp", Value: "0 Pa"},
			{At: start(), Channel: "test_dp", Value: "0 Pa"},
			{At: minutes(60), Channel: "test_dp", Value: "0 Pa"},
		},
		Leakage: []job.LeakPoint{{TestPressure: 7e3, UFlow: 1e-8}}, // none, and next to nothing would have been seen
		Checks:  []job.PlateCheck{{EffectiveArea: 600.6e-6, UByEye: 1e-4, Meter: "plate"}},
	}
}

// rigCard is the card the readings are taken under unless a test says otherwise.
func rigCard() job.RigCard {
	return job.RigCard{ID: "bare", Piece: "manifold", Meter: "plate", TestPressure: 28 * unit.InH2O, Blanked: "all other openings"}
}

// A truth is what is really on a simulated bench.
type truth struct {
	meter    meter.Meter
	air      gas.MoistAir
	area     float64 // effective area of the piece [m²]
	leak     float64 // leakage [kg/s]
	upstream bool    // the meter sits before the piece
	out      bool    // the bench blows
}

func air() gas.MoistAir {
	return gas.MoistAir{Pressure: 99e3, Temperature: 295.15, Humidity: 0.45, CO2: gas.StandardCO2}
}

func plate() meter.Orifice {
	return meter.Orifice{Throat: meter.Throat{Pipe: 0.1, Bore: 0.06, UPipe: 0.002, UBore: 5e-4}, Taps: meter.Corner}
}

// reading finds what the meter shows when the drop across the piece is drop [Pa]: the inverse of what package bench does, by
// bisection between nothing and high.
func (w truth) reading(t testing.TB, drop, high float64) float64 {
	t.Helper()
	a, err := w.air.Properties()
	if err != nil {
		t.Fatal(err)
	}
	lo, hi := 0.0, high
	for range 60 {
		mid := (lo + hi) / 2
		loss, through := 0.0, 0.0
		for range 6 {
			p0, pm := a.Pressure, a.Pressure-drop
			switch {
			case w.out:
				p0 = a.Pressure + drop
				pm = p0 + loss
			case w.upstream:
				p0 = a.Pressure - loss
				pm = a.Pressure
			}
			up := meter.UpstreamOf(a)
			up.Pressure, up.Density = pm, a.Density*pm/a.Pressure
			f, err := w.meter.Flow(up, mid)
			if err != nil {
				t.Fatal(err)
			}
			n := gas.Nozzle{Pressure: p0, Temperature: a.Temperature, Downstream: p0 - drop, GasConstant: a.Pressure / (a.Density * a.Temperature), Gamma: a.Kappa}
			through = f.Mass - w.leak - n.MassFlow(w.area)
			if !w.upstream && !w.out {
				break
			}
			loss = f.Loss
		}
		if through < 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	if hi == high {
		t.Fatalf("the meter cannot show the flow of %v m²", w.area)
	}
	return (lo + hi) / 2
}

// A wave is the noise of a simulated sensor, relative to its value [-].
const wave = 0.002

// trace samples a steady reading for 20 s at 20 Hz: meter and test pressure with independent noise of wave.
func trace(r *rand.Rand, channel string, shown, drop float64) job.Trace {
	const n = 400
	tr := job.Trace{Time: make([]float64, n), Channels: []job.Channel{
		{Name: channel, Unit: "Pa", Values: make([]float64, n)}, {Name: "test_dp", Unit: "inH2O", Values: make([]float64, n)},
	}}
	for i := range n {
		tr.Time[i] = float64(i) / 20
		tr.Channels[0].Values[i] = shown * (1 + wave*r.NormFloat64())
		tr.Channels[1].Values[i] = drop * (1 + wave*r.NormFloat64())
	}
	return tr
}

func seeded(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 7)) }

// setup builds a bench or ends the test.
func setup(t testing.TB, card job.Bench) *bench.Setup {
	t.Helper()
	s, err := bench.NewSetup(card)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// sitting builds a sitting or ends the test.
func sitting(t testing.TB, card job.Bench, s job.Sitting, traces map[string]job.Trace) *bench.Sitting {
	t.Helper()
	sit, err := setup(t, card).Sitting(s, traces)
	if err != nil {
		t.Fatal(err)
	}
	return sit
}

// reference is 28 inH2O in the default air.
func reference(t testing.TB) bench.Reference {
	t.Helper()
	ref, err := bench.ReferenceOf(job.Reference{})
	if err != nil {
		t.Fatal(err)
	}
	return ref
}
