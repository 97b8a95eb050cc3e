package app_test

import (
	"io/fs"
	"os"
	"strings"
	"testing"
	"testing/fstest"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// A reading by eye with a plate on a percent scale is typed as what the scale shows; what is typed for the wrong kind of meter is
// told at its field.
func TestReadingOnAPercentScale(t *testing.T) {
	a := sittings(t)
	folder := fstest.MapFS{}
	six := os.DirFS("../web/testdata/six")
	err := fs.WalkDir(six, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		data, err := fs.ReadFile(six, name)
		folder[name] = &fstest.MapFile{Data: data}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	add := func(name, text string) { folder[name].Data = append(folder[name].Data, text...) }
	add("bench.toml", "\n[[meters]]\nid = \"scale\"\nkind = \"plate_percent\"\nfull_scale = \"300 cfm\"\nfull_scale_at = \"28 inH2O\"\nu_coefficient = \"1 %\"\n")
	job := string(folder["job.toml"].Data)
	at := strings.Index(job, "[[rigs]]")
	card, _, _ := strings.Cut(job[at+len("[[rigs]]"):], "\n[[")
	card = strings.Replace(strings.Replace(card, `id = "bare"`, `id = "percent"`, 1), `meter = "plate"`, `meter = "scale"`, 1)
	if !strings.Contains(card, `id = "percent"`) || !strings.Contains(card, `meter = "scale"`) {
		t.Fatalf("the rig card is not as this test takes it: %s", card)
	}
	folder["job.toml"].Data = []byte(job[:at] + "[[rigs]]" + card + "\n" + job[at:])
	if _, err := a.ImportFolder(t.Context(), folder); err != nil {
		t.Fatal(err)
	}
	ref := app.SittingRef{Job: "six", Sitting: "s1"}
	for _, step := range []string{app.StepZero, app.StepLeakage, app.StepCheck} {
		if err := a.Skip(t.Context(), ref, step, "not in this test"); err != nil && fault.KindOf(err) != fault.Conflict && fault.KindOf(err) != fault.Invalid {
			t.Fatal(err)
		}
	}
	typed := app.ReadingTyped{Rig: "percent", Round: "received", Opening: "1", Scale: "62.5 %", TestPressure: "28 inH2O", UByEye: "0.5 %"}
	id, err := a.AddReading(t.Context(), ref, typed)
	if err != nil {
		t.Fatal(err)
	}
	found := false
	for _, r := range walk(t, a, "s1").Readings {
		if r.ID == id {
			found = true
			// 62.5 % of 300 cfm is 187.5 cfm by definition of the scale; the sitting's leakage goes off, the room is not quite the scale's.
			if r.Scale != 0.625 || r.MeterDP != 0 || !r.Result.Usable || r.Result.FlowCFM < 175 || r.Result.FlowCFM > 195 {
				t.Errorf("kept as %+v, %v cfm: %s", r.Reading, r.Result.FlowCFM, r.Result.Refused)
			}
		}
	}
	if !found {
		t.Errorf("reading %q is not in the sitting", id)
	}
	both := typed
	both.MeterDP = "1.9 kPa"
	_, err = a.AddReading(t.Context(), ref, both)
	if p := wrong(t, err); !strings.Contains(p["meter_dp"], "percent scale") {
		t.Errorf("both typed: %v", p)
	}
	for _, scale := range []string{"", "0 %", "62.5", "-3 %"} {
		typed.Scale = scale
		_, err = a.AddReading(t.Context(), ref, typed)
		if p := wrong(t, err); !strings.Contains(p["scale"], "72 %") {
			t.Errorf("scale %q: %v", scale, p)
		}
	}
	typed.Rig, typed.Scale, typed.MeterDP = "bare", "62 %", "1.9 kPa"
	_, err = a.AddReading(t.Context(), ref, typed)
	if p := wrong(t, err); !strings.Contains(p["scale"], "no percent scale") {
		t.Errorf("a scale for a pressure meter: %v", p)
	}
}
