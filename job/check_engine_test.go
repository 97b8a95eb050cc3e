package job_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"runnel/internal/fault"
	"runnel/job"
)

const (
	cardHead = "[engine]\ncylinders = 4\nbore = \"80 mm\"\nstroke = \"80 mm\"\ncompression_ratio = 10\n"
	cardCam  = "[engine.cam.intake]\nopens = \"20 °\"\ncloses = \"60 °\"\npeak_lift = \"10 mm\"\n"
)

// TestEngineThatCannotBe: numbers that are each of a possible size and together, or for the part they are of, of no engine. Every
// one of them was once computed without a word.
func TestEngineThatCannotBe(t *testing.T) {
	if _, err := job.LoadEngine("e.toml", []byte(cardHead+cardCam)); err != nil {
		t.Fatal(err)
	}
	table := func(points string) string { return "[engine.cam.intake]\ntable = [" + points + "]\n" }
	for _, c := range []struct{ name, text, found, write string }{
		{"shaft", "[engine.inlet]\nthrottle_bore = \"10 mm\"\nthrottle_shaft = \"10 mm\"\n", "leaves nothing open", "shaft"},
		{"plenum", "[engine.inlet]\nplenum_volume = \"1 cm³\"\n", "a twentieth of one cylinder", `layout = "individual"`},
		{"collectors", "[engine.outlet]\ncollectors = 9\n", "9 collectors for 4 cylinders", "gathered"},
		{"valve", "[engine.intake_valve]\nhead = \"85 mm\"\n", "a bore of 80 mm does not hold 1 × 85 mm", "diameter"},
		{"two valves", "[engine.intake_valve]\ncount = 2\nhead = \"60 mm\"\n", "does not hold 2 × 60 mm", "count"},
		{"lift", cardCam + "[engine.intake_valve]\nhead = \"9 mm\"\n", "more than the valve's own diameter", "lift"},
		{"flow", "[engine.intake_valve]\nhead = \"40 mm\"\nflow = [{ lift = \"2 mm\", effective_area = \"70000 mm²\" }]\n", "an effective area of 70000 mm² is more than all of the valve heads", "900 mm²"},
		{"no closing", "[engine.cam.intake]\nopens = \"20 °\"\npeak_lift = \"10 mm\"\n", "has opens but not closes", "closes"},
		{"long lobe", strings.Replace(cardCam, "60 °", "300 °", 1), "open for 500 crank degrees", "before top centre"},
		{"backwards lobe", strings.Replace(cardCam, "60 °", "-170 °", 1), "open for 30 crank degrees", "before top centre"},
		{"stated above the peak", cardCam + "at_lift = \"12 mm\"\n", "the events are stated at 12 mm", "tappet lift"},
		{"lash above the peak", cardCam + "lash = \"12 mm\"\n", "lash of 12 mm is not below", "clearance"},
		{"compression side", table(`{ angle = "320 °", lift = "0 mm" }, { angle = "400 °", lift = "8 mm" }, { angle = "460 °", lift = "11 mm" }, { angle = "610 °", lift = "0 mm" }`), "peaks 460° after", "gas-exchange top centre"},
		{"three points", table(`{ angle = "0 °", lift = "0 mm" }, { angle = "100 °", lift = "8 mm" }, { angle = "200 °", lift = "0 mm" }`), "lift table of 3 points", "four"},
		{"burn", "[engine.burn]\nduration = \"500 °\"\n", "duration of 500 ° is that of no engine", "150 °"},
		{"timing", "[engine.burn]\nca50 = \"120 °\"\n", "ca50 of 120 ° is that of no engine", "90 °"},
		{"negative friction", "[engine.friction]\na = \"-1 bar\"\n", "a of -1 bar is that of no engine", "between 0 bar"},
		{"more than all heat", "[engine.burn]\ncomplete = 1.5\n", "complete", "write"},
		{"entry", "[engine.inlet]\nentry_loss = -1\n", "entry_loss of -1", "between 0"},
		{"dyno speed", "[[engine.dyno]]\nspeed = \"0 rpm\"\ntorque = \"100 N·m\"\n", "speed of 0 rpm", "3000 rpm"},
		{"dyno torque", "[[engine.dyno]]\nspeed = \"3000 rpm\"\ntorque = \"-100 N·m\"\n", "torque is not above zero", "N·m"},
		{"dyno order", "[[engine.dyno]]\nspeed = \"3000 rpm\"\ntorque = \"100 N·m\"\n[[engine.dyno]]\nspeed = \"2000 rpm\"\ntorque = \"100 N·m\"\n", "not above the point before", "order"},
	} {
		_, err := job.LoadEngine("e.toml", []byte(cardHead+c.text))
		if err == nil || fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), c.found) || !strings.Contains(err.Error(), c.write) {
			t.Errorf("%s gives %v, wanted %q and %q", c.name, err, c.found, c.write)
		}
	}
	// One fault, one message.
	if _, err := job.LoadEngine("e.toml", []byte(cardHead+table(`{ angle = "0 °", lift = "1 mm" }`))); err == nil || strings.Contains(err.Error(), "\n") {
		t.Errorf("a table of one point gives %v", err)
	}
	// An angle that is zero is no angle that is missing, and a fixed lobe may end on a dead centre.
	for _, text := range []string{strings.Replace(cardCam, "20 °", "0 °", 1), strings.Replace(cardCam, "opens = \"20 °\"", "duration = \"260 °\"\ncentre = \"110 °\"", 1)} {
		text = strings.Replace(text, "closes = \"60 °\"\npeak", "peak", strings.Count(text, "duration"))
		if _, err := job.LoadEngine("e.toml", []byte(cardHead+text)); err != nil {
			t.Errorf("%q is refused: %v", text, err)
		}
	}
}

// TestForcedInduction: every way to write it down is refused in words, not as a slip of the pen.
func TestForcedInduction(t *testing.T) {
	for _, text := range []string{
		cardHead + "boost = \"0.8 bar\"\n", cardHead + "blower = true\n", cardHead + "[engine.turbo]\nboost = \"1 bar\"\n",
		cardHead + "[engine.inlet]\nsupercharger = \"roots\"\n", cardHead + "[engine.air]\npressure = \"200 kPa\"\n",
	} {
		_, err := job.LoadEngine("e.toml", []byte(text))
		if err == nil || !strings.Contains(err.Error(), "forced induction is out of scope") {
			t.Errorf("%q gives %v", text, err)
		}
	}
	if _, err := job.LoadEngine("e.toml", []byte(cardHead+"bors = 3\n")); err == nil || !strings.Contains(err.Error(), `write "bore"`) {
		t.Errorf("a slip of the pen gives %v", err)
	}
}

// TestZeroAngleComesBack: a lobe that closes on a dead centre does so after the job was written and read again.
func TestZeroAngleComesBack(t *testing.T) {
	j, err := job.Load(base(t))
	if err != nil {
		t.Fatal(err)
	}
	j.Engine.Cam.Intake.Opens, j.Engine.Cam.Intake.Centre = 0, 0
	files := fstest.MapFS{}
	if err := job.Write(j, func(name string, data []byte) error {
		files[name] = &fstest.MapFile{Data: data}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	back, err := job.Load(files)
	if err != nil || back.Engine.Cam.Intake.Opens != 0 || back.Engine.Cam.Intake.Closes != j.Engine.Cam.Intake.Closes {
		t.Errorf("%+v, %v", back.Engine, err)
	}
}
