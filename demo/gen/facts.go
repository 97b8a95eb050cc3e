package main

import (
	"math"
	"time"

	"runnel/job"
	"runnel/unit"
)

// Facts of the invented job. Every number is made up to be plausible.
const (
	testPressure = 28 * unit.InH2O // pressure drop at which runners are flowed [Pa]
	bodyPressure = 7 * unit.InH2O  // pressure drop at which the throttle body is flowed: the blower holds no more [Pa]
	entryBore    = 0.052           // runner bore at the plenum [m]
	entryRadius  = 0.012           // radius of the clay entry [m]
	exitBore     = 0.041           // runner bore at the head face [m]
	valveHead    = 0.042           // intake valve head [m]
	plateArea    = 600e-6          // effective area of the check plate as its card says [m²]
)

func mm(x float64) float64 { return unit.Length.Of(x, "mm") }

func deg(x float64) float64 { return x * (math.Pi / 180) }

func at(day, hour, minute int) time.Time {
	return time.Date(2026, time.March, day, hour, minute, 0, 0, time.UTC)
}

// facts is the job as it was booked in, without its sittings.
func facts() job.Job {
	runners := []string{"1", "2", "3", "4", "5", "6"}
	return job.Job{
		Format: job.Format, ID: "hill-climb-six", Title: "Six-runner intake for a 3.0-litre hill-climb six", Invented: true, BookedIn: at(7, 0, 0),
		Shop: job.Shop{Name: "Demo porting shop (invented)", Place: "Nowhere in particular"},
		Customer: job.Customer{
			Name:     "Demo customer (invented)",
			AskedFor: "A fabricated intake for a historic hill-climb car. Cylinder four has always run rich. Even the runners out, find what flow there is, and say honestly what it is worth.",
		},
		Reference: job.Reference{TestPressure: testPressure, Pressure: 101325, Temperature: unit.Temperature.Of(20, "°C"), SmallestChange: 0.005},
		Engine:    engine(),
		Tract:     []string{"body", "manifold", "head"},
		Pieces: []job.Piece{
			{ID: "manifold", Kind: "manifold", Title: "Fabricated six-runner intake", Material: "aluminium sheet and tube, welded", Openings: runners, ExitArea: round(math.Pi/4*exitBore*exitBore, 1e6), CarriedOn: 0.8, LeastWall: mm(2.2), Sections: map[string]string{"1": "sections/runner-1.csv", "4": "sections/runner-4.csv"}},
			{ID: "head", Kind: "head", Title: "Cylinder head, not worked on", Material: "cast aluminium", Openings: runners},
			{ID: "body", Kind: "throttle_body", Title: "Single 65 mm throttle body", Openings: []string{"bore"}, ExitArea: round(math.Pi/4*0.065*0.065, 1e6)},
		},
		Rounds: []job.Round{
			{ID: "received", Piece: "manifold", Title: "As received", Date: at(7, 0, 0), Did: "Nothing: washed and flowed."},
			{ID: "roughed", Piece: "manifold", Title: "Roughed", Date: at(7, 0, 0), Did: "Weld beads at the flange knocked back, ports matched to the gasket."},
			{ID: "welded", Piece: "manifold", Title: "Welded and blended", Date: at(28, 0, 0), Did: "Short-side radius of every runner built up with weld and blended; the step in runner 4 filled and cut back."},
			{ID: "finished", Piece: "manifold", Title: "Finished", Date: at(28, 0, 0), Did: "Entries shaped, runners finished with 80 grit."},
			{ID: "head-received", Piece: "head", Title: "As received", Date: at(7, 0, 0)},
			{ID: "body-received", Piece: "body", Title: "As received", Date: at(7, 0, 0)},
		},
		Rigs:     rigs(),
		Compare:  compares(),
		Bench:    bench(),
		Sections: sections(),
	}
}

func compares() []job.Compare {
	var out []job.Compare
	for _, to := range []string{"roughed", "welded", "finished"} {
		out = append(out, job.Compare{From: "received", To: to, FromRig: "runner-radiused", ToRig: "runner-radiused"})
	}
	return append(out, job.Compare{From: "received", To: "finished", FromRig: "runner-bare", ToRig: "runner-bare"})
}

func rigs() []job.RigCard {
	runner := job.RigCard{
		ID: "runner-bare", Piece: "manifold", Meter: "plate-60", TestPressure: testPressure, Direction: "in", Entry: "bare",
		EntryBore: entryBore, Blanked: "all other runners and the throttle flange; plenum lid off", Adaptor: "83.8 mm bore adaptor with a 41 mm stub",
	}
	radiused := runner
	radiused.ID, radiused.Entry, radiused.EntryRadius = "runner-radiused", "radiused", entryRadius
	head := job.RigCard{
		ID: "head-small-plate", Piece: "head", Meter: "plate-35", TestPressure: testPressure, Direction: "in", Entry: "radiused", EntryRadius: mm(10),
		EntryBore: exitBore, Blanked: "exhaust valve shut, other ports closed", Adaptor: "83.8 mm bore adaptor",
	}
	large := head
	large.ID, large.Meter = "head-large-plate", "plate-60"
	return []job.RigCard{runner, radiused, head, large, {
		ID: "body-open", Piece: "body", Meter: "plate-60", TestPressure: bodyPressure, Direction: "in", Entry: "radiused", EntryRadius: mm(15),
		EntryBore: mm(65), Blanked: "nothing", Adaptor: "flat plate with a 70 mm hole", Note: "Butterfly wide open. The blower cannot hold 28 inH2O on it.",
	}}
}

func bench() job.Bench {
	low, high := 0.0, 5000.0
	lowT, highT := 0.0, 40.0
	return job.Bench{
		ID: "bench-1", Title: "Suction bench with orifice plates (invented)", SetupRepeat: 0.002, LeakLimit: 0.02, AirAge: 3600,
		Meters: []job.Meter{
			{ID: "plate-60", Kind: "orifice_pipe", Title: "60 mm plate", Pipe: mm(100), Bore: mm(60), Taps: "corner", UPipe: 0.002, UBore: 0.0004, Station: "downstream"},
			{ID: "plate-35", Kind: "orifice_pipe", Title: "35 mm plate", Pipe: mm(100), Bore: mm(35), Taps: "corner", UPipe: 0.002, UBore: 0.0005, Station: "downstream"},
		},
		Sensors: []job.Sensor{
			{Channel: "meter_dp", Role: "meter_dp", Unit: "Pa", Low: &low, High: &high, Calibration: []float64{0, meterSlope}, U: "0.2 %"},
			{Channel: "test_dp", Role: "test_dp", Unit: "inH2O", Low: &lowT, High: &highT, Calibration: []float64{0, testSlope}, U: "0.2 %"},
		},
		CheckPlate: job.CheckPlate{ID: "check-600", EffectiveArea: plateArea, U: 0.003, Limit: 0.01},
	}
}

func engine() *job.Engine {
	return &job.Engine{
		Title: "Invented 3.0-litre inline six", Cylinders: 6, FiringOrder: []int{1, 5, 3, 6, 2, 4},
		Bore: mm(83.8), Stroke: mm(90), Rod: mm(155), CompressionRatio: 10.2,
		RedLine: unit.Rotation.Of(7000, "rpm"), Speeds: "2000:7000:500",
		Air:  job.EngineAir{Pressure: 101325, Temperature: unit.Temperature.Of(20, "°C"), Humidity: 0.4},
		Fuel: job.FuelCard{Name: "gasoline", Lambda: 0.88},
		Cam: job.CamCard{
			Intake:  job.LobeCard{Opens: deg(32), Closes: deg(68), PeakLift: mm(11.5), Lash: mm(0.25)},
			Exhaust: job.LobeCard{Opens: deg(70), Closes: deg(30), PeakLift: mm(11), Lash: mm(0.3)},
		},
		Intake:  job.ValveCard{Count: 1, Head: valveHead, Seat: mm(1.5), SeatAngle: deg(45), Stem: mm(8), Throat: mm(36), FlowFrom: "head"},
		Exhaust: job.ValveCard{Count: 1, Head: mm(36), Seat: mm(1.8), SeatAngle: deg(45), Stem: mm(8), Throat: mm(31)},
		Inlet: job.InletCard{
			Layout: "plenum", PlenumVolume: 3.2e-3, RunnerLength: mm(320), RunnerEntry: entryBore, RunnerExit: exitBore, RunnerPiece: "manifold",
			PortLength: mm(90), PortBore: mm(38), ThrottleBore: mm(65), ThrottleShaft: mm(10), ThrottlePiece: "body", DuctLength: mm(250), DuctBore: mm(70),
		},
		Outlet: job.OutletCard{
			PortLength: mm(70), PortBore: mm(35), PrimaryLength: mm(780), PrimaryBore: mm(41), Collectors: 2, CollectorLength: mm(420), CollectorBore: mm(54),
		},
	}
}

// round returns x to the nearest of perUnit parts of one.
func round(x, perUnit float64) float64 { return math.Round(x*perUnit) / perUnit }
