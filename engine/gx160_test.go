package engine

import (
	"math"
	"strings"
	"testing"

	"runnel/job"
)

// gx160 is the published small engine: geometry and cam of testdata/gx160_geometry_cam.csv (middle of the ranges), run as in
// testdata/torres2024_gx160_wot_E100.csv.
func gx160(t testing.TB) job.Engine {
	t.Helper()
	table := map[string][]job.LiftPoint{}
	for _, r := range rows(t, "gx160_geometry_cam.csv") {
		side, rest, _ := strings.Cut(r["quantity"], "_")
		sign := 1.0
		if side == "exhaust" {
			sign = -1
		}
		lo, hi, ok := strings.Cut(r["value"], "-")
		if !ok {
			continue
		}
		mid := (num(t, lo) + num(t, hi)) / 2
		switch {
		case strings.HasPrefix(rest, "lift_"):
			mm, _, _ := strings.Cut(strings.TrimPrefix(rest, "lift_"), "_")
			table[side] = append(table[side], job.LiftPoint{Angle: sign * deg(mid), Lift: num(t, mm) * 1e-3})
		case rest == "peak":
			peak := 0.0062
			if side == "exhaust" {
				peak = 0.00645
			}
			table[side] = append(table[side], job.LiftPoint{Angle: sign * deg(mid), Lift: peak})
		}
	}
	return job.Engine{
		Title: "GX160, 68 × 45 mm", Cylinders: 1, Bore: 0.068, Stroke: 0.045, Rod: 0.084, CompressionRatio: 7.44,
		Fuel:    job.FuelCard{Name: "ethanol", Lambda: 1.0},
		Cam:     job.CamCard{Intake: job.LobeCard{Table: table["intake"], Lash: 0.00015}, Exhaust: job.LobeCard{Table: table["exhaust"], Lash: 0.0002}},
		Intake:  job.ValveCard{Count: 1, Head: 0.025, Stem: 0.00547, Throat: 0.02305, Seat: 0.0008},
		Exhaust: job.ValveCard{Count: 1, Head: 0.024, Throat: 0.02185, Seat: 0.0008},
		Inlet: job.InletCard{
			Layout: "individual", RunnerLength: 0.100, RunnerEntry: 0.020, RunnerExit: 0.022, PortLength: 0.050, PortBore: 0.023,
			ThrottleBore: 0.020, ThrottleShaft: 0.005, EntryLoss: 0.5, WallTemp: 340,
		},
		Outlet: job.OutletCard{PortLength: 0.040, PortBore: 0.022, PrimaryLength: 0.15, PrimaryBore: 0.022},
	}
}

// The published small engine, one set of assumptions for all speeds: typical valve coefficients, a 100 mm intake pipe of 20–22 mm with
// an open butterfly, a 50 mm port, a short exhaust pipe, walls at the defaults but the intake's at 340 K, sea-level air at 25 °C; none
// was fitted. None of these were published, nor was the air of the test room.
//
// The level is NOT met: the pull draws about half more air than the fuel flow of the table says, and makes 36–46 % more torque. The slope over
// speed is met. The table cannot be met by any engine of this compression ratio with ordinary losses: see
// TestGX160Inconsistent. The wanted tolerances were 6–8 % for air and 10 % for torque.
func TestGX160(t *testing.T) {
	e, err := FromCard(gx160(t), Flowed{})
	if err != nil {
		t.Fatal(err)
	}
	table := rows(t, "torres2024_gx160_wot_E100.csv")
	points, err := Pull(t.Context(), e, rpm(2000, 4000, 500), Options{Mesh: 0.010}, nil)
	if err != nil {
		t.Fatal(err)
	}
	var air, torque []float64
	for i, p := range points {
		if !p.Settled {
			t.Errorf("%.0f rpm did not settle", p.Speed*60)
		}
		air = append(air, p.AirFlow/num(t, table[i]["air_kg_s"]))
		torque = append(torque, p.Torque/num(t, table[i]["torque_Nm"]))
		t.Logf("%.0f rpm: air %.3f g/s, %+.0f %% of the table's; torque %.2f N·m, %+.0f %%", p.Speed*60, p.AirFlow*1e3,
			100*(air[i]-1), p.Torque, 100*(torque[i]-1))
	}
	mean := 0.0
	for _, r := range air {
		mean += r / float64(len(air))
	}
	for i, r := range air {
		if d := r/mean - 1; math.Abs(d) > 0.06 {
			t.Errorf("%.0f rpm: air off the table's shape by %+.1f %%", points[i].Speed*60, 100*d)
		}
	}
	// The deviation as it stands; a change of it must be noticed and explained.
	if mean < 1.40 || mean > 1.60 || torque[0] < 1.30 || torque[0] > 1.60 {
		t.Errorf("the known deviation moved: air %.2f, torque at the lowest speed %.2f of the table's", mean, torque[0])
	}
}

// Why the level of the table cannot be met: its torque and fuel flow are a brake efficiency of 0.35–0.37. With a friction of 1 bar
// (what correlations give for engines of this size) the indicated work over the fuel's heat is more than nine tenths of the
// ideal constant-volume cycle of the same charge without any heat loss at compression ratio 7.44; engines reach about 0.8–0.85 of it
// (common knowledge, no source). So fuel flow, and with it the derived air flow, or the compression ratio, is not what the table's copy says.
func TestGX160Inconsistent(t *testing.T) {
	f, err := FuelNamed("ethanol")
	if err != nil {
		t.Fatal(err)
	}
	ideal := idealEfficiency(t, f, 1, 7.44)
	vd := Crank{Bore: 0.068, Stroke: 0.045}.Swept()
	over := 0
	for _, r := range rows(t, "torres2024_gx160_wot_E100.csv")[:5] {
		n := num(t, r["rpm"]) / 60
		bmep := num(t, r["torque_Nm"]) * Cycle / vd
		indicated := (bmep + 1e5) * vd * n / 2 / (num(t, r["fuel_g_s"]) * 1e-3 * 26.9e6)
		t.Logf("%s rpm: indicated efficiency %.3f with 1 bar of friction, ideal cycle %.3f", r["rpm"], indicated, ideal)
		if indicated > 0.9*ideal {
			over++
		}
	}
	if over < 4 {
		t.Errorf("only %d of 5 points are beyond nine tenths of the ideal cycle: look at the comparison again", over)
	}
}
