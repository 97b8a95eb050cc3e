package app_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// Two known values make a straight line through both; what makes none is said.
func TestTwoPoint(t *testing.T) {
	// By hand: (5000 − 0)/(4990 − 4) = 1.002808…, c0 = −1.002808·4 = −4.011232…, in pascals.
	got, err := app.TwoPoint(app.TwoPointTyped{Unit: "Pa", Role: "meter_dp", RawA: 4, RawB: 4990, TrueA: "0 Pa", TrueB: "5 kPa"})
	if err != nil || got != "-4.011231, 1.002808" {
		t.Errorf("%q, %v", got, err)
	}
	// The sensor reports inches of water; 10 inH2O are 2490.8891 Pa (NIST SP 811: 249.08891 Pa each).
	got, err = app.TwoPoint(app.TwoPointTyped{Unit: "inH2O", Role: "test_dp", RawA: 0, RawB: 10, TrueA: "0 Pa", TrueB: "2490.8891 Pa"})
	if err != nil || got != "0, 1" {
		t.Errorf("%q, %v", got, err)
	}
	for name, f := range map[string]app.TwoPointTyped{
		"the same twice":  {Unit: "Pa", Role: "meter_dp", RawA: 1000, RawB: 1010, TrueA: "1 kPa", TrueB: "2 kPa"},
		"one known value": {Unit: "Pa", Role: "meter_dp", RawA: 0, RawB: 1010, TrueA: "1 kPa", TrueB: "1 kPa"},
		"no unit":         {Unit: "Pa", Role: "meter_dp", RawA: 0, RawB: 1010, TrueA: "0", TrueB: "1 kPa"},
		"wrong unit":      {Unit: "mm", Role: "meter_dp", RawA: 0, RawB: 1010, TrueA: "0 Pa", TrueB: "1 kPa"},
		"nothing":         {Unit: "Pa", Role: "meter_dp", TrueA: "0 Pa", TrueB: "1 kPa"},
	} {
		if got, err := app.TwoPoint(f); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: %q, %v", name, got, err)
		}
	}
}

// Sensors are written into the bench card of the job, the rest of which stays; what is wrong is said by field.
func TestSaveSensors(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	j, err := a.Facts(ctx, "six")
	if err != nil {
		t.Fatal(err)
	}
	list := app.TypedSensors(j.Bench)
	list[0].Calibration, list[0].Low, list[0].High = "0.4, 1.0018", "0", "5000"
	list[0].Source = "rig:?seed=3#meter_dp"
	list[1].Source = "rig:#test_dp"
	if err := a.SaveSensors(ctx, "six", list, "new sensor of the meter"); err != nil {
		t.Fatal(err)
	}
	k, err := a.Facts(ctx, "six")
	if err != nil {
		t.Fatal(err)
	}
	s := k.Bench.Sensors[0]
	if len(s.Calibration) != 2 || s.Calibration[1] != 1.0018 || *s.High != 5000 || s.Source != list[0].Source || s.U != j.Bench.Sensors[0].U {
		t.Errorf("%+v", s)
	}
	if k.Bench.CheckPlate != j.Bench.CheckPlate || len(k.Bench.Meters) != len(j.Bench.Meters) {
		t.Error("another part of the card changed")
	}
	_, log, err := a.History(ctx, "six")
	if err != nil || log[0].What != "sensors of the bench changed" || log[0].Why != "new sensor of the meter" {
		t.Errorf("%+v, %v", log[0], err)
	}
	for field, change := range map[string]func([]app.SensorTyped){
		"unit-0":        func(l []app.SensorTyped) { l[0].Unit = "mm" },
		"high-1":        func(l []app.SensorTyped) { l[1].High = "40 inH2O" },
		"calibration-0": func(l []app.SensorTyped) { l[0].Calibration = "0; 1" },
		"role-1":        func(l []app.SensorTyped) { l[1].Role = "" },
		"channel-1":     func(l []app.SensorTyped) { l[1].Channel = "" },
		"source-1":      func(l []app.SensorTyped) { l[1].Source = "pigeon:post" },
		"u-0":           func(l []app.SensorTyped) { l[0].U = "much" },
	} {
		bad := app.TypedSensors(k.Bench)
		change(bad)
		if p := wrong(t, a.SaveSensors(ctx, "six", bad, "")); p[field] == "" {
			t.Errorf("nothing is said of %s: %v", field, p)
		}
	}
}

// Sensors are read as they were typed, before they are saved.
func TestProbeSensors(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	if _, _, ok := a.SensorSigns("six"); ok {
		t.Error("sensors are read before anyone asked")
	}
	j, err := a.Facts(ctx, "six")
	if err != nil {
		t.Fatal(err)
	}
	list := app.TypedSensors(j.Bench)
	list[0].Source, list[1].Source = "rig:?seed=3#meter_dp", "rig:#test_dp"
	if err := a.ProbeSensors(ctx, "six", list); err != nil {
		t.Fatal(err)
	}
	defer a.StopProbe()
	deadline := time.Now().Add(10 * time.Second)
	for {
		s, probing, ok := a.SensorSigns("six")
		if !ok || !probing {
			t.Fatal("nothing is read")
		}
		if c := s.Channels[1]; c.Raw != nil && c.Samples > 10 {
			if *c.Value < 6000 || *c.Value > 8000 { // 28 inH2O are 6974 Pa
				t.Errorf("the test pressure is %g Pa", *c.Value)
			}
			break
		}
		if time.Now().After(deadline) {
			t.Fatal("no sample came")
		}
		time.Sleep(50 * time.Millisecond)
	}
	if k, err := a.Facts(ctx, "six"); err != nil || k.Bench.Sensors[0].Source != "" {
		t.Errorf("the probe was saved, or %v", err)
	}
	list[0].Source = "serial:?baud=fast"
	if err := a.ProbeSensors(ctx, "six", list); fault.KindOf(err) != fault.Invalid {
		t.Errorf("%v", err)
	}
	// A bench that is opened takes the ports over.
	if err := a.OpenBench(ctx, "six", "s1"); err != nil {
		t.Fatal(err)
	}
	if _, probing, ok := a.SensorSigns("six"); probing || !ok {
		t.Errorf("probing %v, read %v", probing, ok)
	}
}

// A real job has no simulated rig: its bench does not open before its sensors say where they are read from.
func TestRealJobHasNoSimulatedRig(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	dir := t.TempDir()
	if err := os.CopyFS(dir, os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	name := filepath.Join(dir, "job.toml")
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	lived := strings.Replace(strings.Replace(string(data), "invented = true", "invented = false", 1), `id = "six"`, `id = "real"`, 1)
	if err := os.WriteFile(name, []byte(lived), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportFolder(ctx, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	if err := a.OpenBench(ctx, "real", "s1"); fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "sensor page") {
		t.Errorf("%v", err)
	}
	if a.Bench().Open {
		t.Error("it is open all the same")
	}
}
