package app_test

import (
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"runnel/demo"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// commented is a bench card with comments and two meters, of which the first has a calibration.
const commented = `# Our bench, set up by Anna.
id = "bench-1"
title = "Green bench"

[[meters]]
id = "small"
kind = "orifice_chamber"
bore = "35 mm" # measured twice

# The big one came later.
[[meters]]
id = "big"
kind = "orifice_chamber"
bore = "60 mm"

[[sensors]]
channel = "test_dp"
role = "test_dp"
unit = "Pa"
`

func plateFile(t *testing.T) string {
	t.Helper()
	data, err := os.ReadFile("../../examples/bench/plates.toml")
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// A calibration is kept as the file it came as, is not kept twice, and is never written over.
func TestCalibrationsAreKept(t *testing.T) {
	a, dir := shopApp(t)
	ctx := t.Context()
	if all, err := a.Calibrations(ctx); err != nil || len(all) != 0 {
		t.Fatalf("%v, %v", all, err)
	}
	text := plateFile(t)
	name, err := a.KeepCalibration(ctx, app.CalibrationSent{Name: "plates.toml", Text: strings.ReplaceAll(text, "\n", "\r\n")})
	if err != nil || name != "2026-03-01-bench-1-against-five-plates-invented.toml" {
		t.Fatalf("%q, %v", name, err)
	}
	if got, err := os.ReadFile(filepath.Join(dir, "calibrations", name)); err != nil || string(got) != text {
		t.Errorf("kept as %q, %v", got, err)
	}
	if again, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: text}); err != nil || again != name {
		t.Errorf("kept again as %q, %v", again, err)
	}
	other, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: strings.Replace(text, "40.9 cfm", "40.8 cfm", 1)})
	if err != nil || other == name {
		t.Errorf("another of the same day and title became %q, %v", other, err)
	}
	later, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: text, Day: "2026-04-30", Title: "Anew"})
	if err != nil || later != "2026-04-30-anew.toml" {
		t.Fatalf("%q, %v", later, err)
	}
	if err := os.WriteFile(filepath.Join(dir, "calibrations", "broken.csv"), []byte("plate,known\n1,2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	all, err := a.Calibrations(ctx)
	if err != nil || len(all) != 4 || all[0].Name != later || all[3].Problem == "" {
		t.Fatalf("%+v, %v", all, err)
	}
	// The core says the same of the kept file as of the file that came.
	c, err := job.ReadCalibration("plates.toml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	want, err := app.Calibrate(c, time.Now())
	if err != nil {
		t.Fatal(err)
	}
	if k, err := a.Calibration(ctx, name); err != nil || !reflect.DeepEqual(k.Tried.Answer, want) {
		t.Errorf("%+v, want %+v, %v", k.Tried.Answer, want, err)
	}
	if _, err := a.Calibration(ctx, "../bench.toml"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a file outside the folder: %v", err)
	}
}

// A CSV file cannot say its day; it is kept as TOML that says the same.
func TestCalibrationFromCSV(t *testing.T) {
	a, _ := shopApp(t)
	const csv = "plate,known_cfm,read_cfm,u_known_percent,u_read_percent\n1 in,40.9,40.6,0.4,0.2\n2 in,163.5,162.1,0.4,0.2\n3 in,368,365.9,0.4,0.2\n"
	if _, err := a.KeepCalibration(t.Context(), app.CalibrationSent{Text: csv}); wrong(t, err)["day"] == "" {
		t.Errorf("a calibration without a day was kept: %v", err)
	}
	for field, sent := range map[string]app.CalibrationSent{
		"day": {Text: csv, Day: "2 May"}, "every": {Text: csv, Every: "a year"}, "common": {Text: csv, Common: "60 %"},
	} {
		if _, err := a.TryCalibration(sent); wrong(t, err)[field] == "" {
			t.Errorf("%s: %v", field, err)
		}
	}
	name, err := a.KeepCalibration(t.Context(), app.CalibrationSent{Text: csv, Day: "2026-05-02", Every: "100 d", Common: "0.3 %"})
	if err != nil {
		t.Fatal(err)
	}
	k, err := a.Calibration(t.Context(), name)
	if err != nil {
		t.Fatal(err)
	}
	c, err := job.ReadCalibration("x.csv", []byte(csv))
	if err != nil {
		t.Fatal(err)
	}
	c.At, c.Every, c.UCommon = time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), 100*86400, 0.003
	if !reflect.DeepEqual(k.Tried.Facts, c) || !k.Tried.DueOn().Equal(c.At.AddDate(0, 0, 100)) {
		t.Errorf("kept as %+v, want %+v", k.Tried.Facts, c)
	}
}

// What is typed into the table is the file with the same figures.
func TestCalibrationTyped(t *testing.T) {
	a, _ := shopApp(t)
	typed := app.CalibrationTyped{Title: `Spring "plates"`, Day: "2026-05-02", Every: "365", Common: "0.3", Unit: "cfm", Plates: []app.PlateTyped{
		{Plate: "1 in", Known: "40.9", Read: "40.6", UKnown: "0.4", URead: "0.2"},
		{},
		{Plate: "2 in", Known: "163.5 cfm", Read: "162.1", UKnown: "0.4 %", URead: "0.2"},
		{Plate: "3 in", Known: "368", Read: "365.9", UKnown: "0.4", URead: "0.2"},
	}}
	text, err := a.CalibrationFile(typed)
	if err != nil {
		t.Fatal(err)
	}
	got, err := job.ReadCalibration("typed.toml", []byte(text))
	if err != nil {
		t.Fatalf("%v\n%s", err, text)
	}
	want, err := job.ReadCalibration("x.csv", []byte("plate,known_cfm,read_cfm,u_known_percent,u_read_percent\n1 in,40.9,40.6,0.4,0.2\n2 in,163.5,162.1,0.4,0.2\n3 in,368,365.9,0.4,0.2\n"))
	if err != nil {
		t.Fatal(err)
	}
	want.Title, want.At, want.Every, want.UCommon = typed.Title, time.Date(2026, 5, 2, 0, 0, 0, 0, time.UTC), 365*86400, 0.003
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%+v, want %+v", got, want)
	}
	typed.Plates[0].Known, typed.Plates[2].Read, typed.Plates[3].UKnown = "40,9", "", "a bit"
	_, err = a.CalibrationFile(typed)
	for _, field := range []string{"known-0", "read-2", "u_known-3"} {
		if wrong(t, err)[field] == "" {
			t.Errorf("%s is not named: %v", field, err)
		}
	}
	if _, err := a.CalibrationFile(app.CalibrationTyped{Unit: "cfm"}); fault.KindOf(err) != fault.Invalid {
		t.Errorf("an empty table: %v", err)
	}
}

// The curve goes onto the shop's card as the command line writes it, the rest of the card stays to the letter, and the card before
// comes back. A card whose form cannot be edited line by line is written anew and says the same.
func TestCalibrationOntoTheCard(t *testing.T) {
	for form, card := range map[string]string{
		"tables": commented,
		"inline": "# In one line.\nid = \"bench-1\"\nmeters = [{ id = \"small\", kind = \"orifice_chamber\", bore = \"35 mm\" }, { id = \"big\", kind = \"orifice_chamber\", bore = \"60 mm\" }]\nsensors = [{ channel = \"test_dp\", role = \"test_dp\", unit = \"Pa\" }]\n",
	} {
		a, _ := shopApp(t)
		ctx := t.Context()
		name, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: plateFile(t)})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := a.CardWith(ctx, name, "big"); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: without a card: %v", form, err)
		}
		if err := a.SaveShopText(ctx, app.ShopEdit{}, card); err != nil {
			t.Fatal(err)
		}
		before := shopText(t, a)
		c, err := a.CardWith(ctx, name, "big")
		if err != nil {
			t.Fatal(err)
		}
		if now := shopText(t, a); now.Text != before.Text || c.Tag != before.Tag || len(c.Lines) == 0 {
			t.Errorf("%s: a look at the change changed the card", form)
		}
		if _, err := a.CardWith(ctx, name, "none"); fault.KindOf(err) != fault.Invalid {
			t.Errorf("%s: a meter that is not there: %v", form, err)
		}
		if err := a.PutOnCard(ctx, app.ShopEdit{Tag: "old"}, name, "big"); fault.KindOf(err) != fault.Conflict {
			t.Errorf("%s: a card that is another by now: %v", form, err)
		}
		if err := a.PutOnCard(ctx, app.ShopEdit{Tag: c.Tag, Why: "spring"}, name, "big"); err != nil {
			t.Fatal(err)
		}
		s := shopText(t, a)
		k, err := a.Calibration(ctx, name)
		if err != nil {
			t.Fatal(err)
		}
		curve, err := k.Tried.Answer.Card(k.Tried.Facts, k.CurveID())
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(s.Text, strings.TrimSpace(string(curve))) {
			t.Errorf("%s: the card has not what the command line writes:\n%s", form, s.Text)
		}
		want := before.Card
		want.Meters[1].Calibration, want.Calibrations = k.CurveID(), s.Card.Calibrations
		if !reflect.DeepEqual(s.Card, want) {
			t.Errorf("%s: the card is %+v, want %+v", form, s.Card, want)
		}
		if !k.OnCard || len(k.Meters) != 1 || k.Meters[0] != "big" {
			t.Errorf("%s: the history says %v %v", form, k.OnCard, k.Meters)
		}
		if head, _, _ := strings.Cut(card, "\n"); !strings.HasPrefix(s.Text, head+"\n") {
			t.Errorf("%s: the comment at the head is lost", form)
		}
		if form == "tables" {
			rest := strings.Replace(strings.Replace(s.Text, "\n"+strings.TrimSpace(string(curve))+"\n", "", 1), `calibration = "`+k.CurveID()+"\"\n", "", 1)
			if rest != card {
				t.Errorf("beside the curve the card changed:\n%s", rest)
			}
		}
		if again, err := a.CardWith(ctx, name, "big"); err != nil || !again.Nothing {
			t.Errorf("%s: put on twice: %+v, %v", form, again, err)
		}
		if m := a.MeterCurves(ctx); len(m) != 2 || m[0].Curve != nil || m[1].Kept != name || m[1].Until.Format(time.DateOnly) != "2027-03-01" {
			t.Errorf("%s: in use: %+v", form, m)
		}
		if err := a.BackShopBench(ctx, app.ShopEdit{Tag: s.Tag}, before.Tag); err != nil || shopText(t, a).Text != before.Text {
			t.Errorf("%s: the card before does not come back: %v", form, err)
		}
		if err := a.BackShopBench(ctx, app.ShopEdit{}, "never"); fault.KindOf(err) != fault.NotFound {
			t.Errorf("%s: a state that never was: %v", form, err)
		}
	}
}

// The chart of the shop has the flows of all jobs on one bench, and the shop's own bench comes first.
func TestShopCharts(t *testing.T) {
	a, _ := shopApp(t)
	ctx := t.Context()
	if c, err := a.ShopCharts(ctx); err != nil || len(c) != 0 {
		t.Errorf("an empty shop: %v, %v", c, err)
	}
	if _, err := a.ImportFolder(ctx, demo.FS); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportFolder(ctx, os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	if _, err := a.ImportFolder(ctx, sixWithout(t, "six-too", func(string) bool { return false })); err != nil {
		t.Fatal(err)
	}
	if err := a.BeginShopBench(ctx, app.ShopEdit{}, "six"); err != nil {
		t.Fatal(err)
	}
	for range 2 { // the second look is answered from memory
		c, err := a.ShopCharts(ctx)
		if err != nil || len(c) != 2 {
			t.Fatalf("%+v, %v", c, err)
		}
		one, err := a.ControlChart(ctx, "six")
		if err != nil {
			t.Fatal(err)
		}
		for _, chart := range []app.CheckChart{c[0].Chart, one} { // two flows were taken at the same time
			slices.SortFunc(chart.Points, func(x, y app.CheckPoint) int { return strings.Compare(x.Job+x.Label, y.Job+y.Label) })
		}
		if !c[0].Ours || c[1].Ours || !reflect.DeepEqual(c[0].Chart, one) || len(one.Points) != 4 {
			t.Errorf("the shop's bench: %+v, want %+v", c[0], one)
		}
		for _, p := range one.Points {
			if p.At.Year() != 2026 {
				t.Errorf("a flow of the check plate on %v", p.At)
			}
		}
	}
}

// A calibration that is put away is in no list, and comes back under a name of its own where another has taken its place.
func TestCalibrationsAreOnlyPutAway(t *testing.T) {
	a, dir := shopApp(t)
	ctx := t.Context()
	text := plateFile(t)
	name, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: text})
	if err != nil {
		t.Fatal(err)
	}
	if err := a.PutAwayCheck(app.Calibrations, name); err != nil {
		t.Fatal(err)
	}
	if all, err := a.Calibrations(ctx); err != nil || len(all) != 0 {
		t.Errorf("%v, %v", all, err)
	}
	if err := a.PutAwayCheck(app.Calibrations, name); fault.KindOf(err) != fault.NotFound {
		t.Errorf("put away twice: %v", err)
	}
	if err := a.PutAwayCheck(app.Calibrations, "../bench.toml"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a file outside the folder: %v", err)
	}
	other := strings.Replace(text, "40.9 cfm", "40.8 cfm", 1)
	if got, err := a.KeepCalibration(ctx, app.CalibrationSent{Text: other}); err != nil || got != name {
		t.Fatalf("%q, %v", got, err)
	}
	away, err := a.ChecksAway(app.Calibrations)
	if err != nil || !slices.Equal(away, []string{name}) {
		t.Fatalf("%v, %v", away, err)
	}
	back, err := a.BringBackCheck(app.Calibrations, name)
	if err != nil || back == name {
		t.Fatalf("came back as %q, %v", back, err)
	}
	for file, want := range map[string]string{name: other, back: text} {
		if got, err := os.ReadFile(filepath.Join(dir, "calibrations", file)); err != nil || string(got) != want {
			t.Errorf("%s holds %q, %v", file, got, err)
		}
	}
}
