package job_test

import (
	"errors"
	"math"
	"strings"
	"testing"
	"time"

	"runnel/job"
)

const (
	inch = 249.08891 // conventional inch of water [Pa], NIST SP 811 App. B.8
	cfm  = 0.3048 * 0.3048 * 0.3048 / 60
)

func same(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12*math.Abs(want) {
		t.Errorf("%s = %v, want %v", what, got, want)
	}
}

// The same facts as CSV and as TOML read the same.
func TestLeakageTestCSVAndTOML(t *testing.T) {
	csv := "\ufeff# blanked\r\ntest_pressure_inh2o,flow_cfm,note\r\n10,0.82,\r\n28, 1.64 ,windy\r\n"
	toml := "[[points]]\ntest_pressure = \"10 inH2O\"\nflow = \"0.82 cfm\"\n[[points]]\ntest_pressure = \"28 inH2O\"\nflow = \"1.64 cfm\"\n"
	for name, text := range map[string]string{"leak.csv": csv, "leak.toml": toml} {
		got, err := job.ReadLeakageTest(name, []byte(text))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(got.Points) != 2 {
			t.Fatalf("%s: %d points", name, len(got.Points))
		}
		same(t, name+" pressure", got.Points[1].TestPressure, 28*inch)
		same(t, name+" flow", got.Points[1].Flow, 1.64*cfm)
	}
}

func TestReadCalibration(t *testing.T) {
	csv := "plate,known_cfm,read_cfm,u_known_percent,u_read_cfm,kind,at\n" +
		"1 in,40.9,40.6,0.4,0.0812,,\n2 in,163.5,162.1,0.4,0.3242,plate,\n,,150.1,,,check,2026-04-01\n"
	got, err := job.ReadCalibration("plates.csv", []byte(csv))
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Points) != 2 || len(got.Checks) != 1 {
		t.Fatalf("%d points and %d checks", len(got.Points), len(got.Checks))
	}
	p := got.Points[1]
	same(t, "known", p.Known, 163.5*cfm)
	same(t, "u_known, in per cent", p.UKnown, 0.004)
	same(t, "u_read, in cfm", p.URead, 0.002)
	same(t, "check", got.Checks[0].Flow, 150.1*cfm)
	if !got.Checks[0].At.Equal(time.Date(2026, 4, 1, 0, 0, 0, 0, time.UTC)) {
		t.Errorf("check at %v", got.Checks[0].At)
	}
	toml := "at = 2026-03-01\nrecalibrate_every = \"180 d\"\nu_common = \"0.3 %\"\n[[points]]\nplate = \"1 in\"\nknown = \"40.9 cfm\"\nread = \"40.6 cfm\"\n[[check]]\nat = 2026-04-01\nflow = \"150.1 cfm\"\n"
	got, err = job.ReadCalibration("plates.toml", []byte(toml))
	if err != nil {
		t.Fatal(err)
	}
	same(t, "every", got.Every, 180*86400)
	same(t, "u_common", got.UCommon, 0.003)
}

// A study keeps the unit it was written in.
func TestReadStudy(t *testing.T) {
	for name, text := range map[string]string{
		"a.csv":  "piece,person,repeat,flow_cfm\np1,Ann,1,146.9\np1,Ben,1,147.25\n",
		"b.csv":  "part,operator,y\np1,Ann,146.9\np1,Ben,147.25\n",
		"c.toml": "unit = \"cfm\"\n[[readings]]\npiece = \"p1\"\nperson = \"Ann\"\nvalue = 146.9\n[[readings]]\npiece = \"p1\"\nperson = \"Ben\"\nvalue = 147.25\n",
	} {
		s, err := job.ReadStudy(name, []byte(text))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		want := "cfm"
		if name == "b.csv" {
			want = "1"
		}
		if len(s.Readings) != 2 || s.Readings[1].Value != 147.25 || s.Readings[1].Person != "Ben" || s.Unit != want {
			t.Errorf("%s: %+v", name, s)
		}
	}
}

func TestReadLabComparison(t *testing.T) {
	for name, text := range map[string]string{
		"share.csv":    "shop,flow_cfm,u_percent\nreference,151,0.2\nNorth,150,0.5\nSouth,152,0.5\n",
		"unit.csv":     "lab,flow_cfm,u_cfm\nreference,151,0.302\nNorth,150,0.75\nSouth,152,0.76\n",
		"other.csv":    "lab,flow_cfm,u_l_s\nreference,151,0.142527\nNorth,150,0.353961\nSouth,152,0.35868\n",
		"expanded.csv": "shop,value_cfm,expanded_percent\nreference,151,0.4\nNorth,150,1\nSouth,152,1\n",
		"t.toml": "unit = \"cfm\"\n[reference]\nvalue = 151\nu = 0.302\n[[results]]\nshop = \"North\"\nvalue = 150\nexpanded = 1.5\n" +
			"[[results]]\nshop = \"South\"\nvalue = 152\nu = 0.76\n",
	} {
		c, err := job.ReadLabComparison(name, []byte(text))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if len(c.Results) != 2 || c.Reference == nil || c.Unit != "cfm" {
			t.Fatalf("%s: %+v", name, c)
		}
		for i, want := range []float64{0.75, 0.76} {
			if got := c.Results[i].Standard(); math.Abs(got-want) > 1e-5 {
				t.Errorf("%s: standard uncertainty %d is %v, want %v", name, i, got, want)
			}
		}
		if got := c.Reference.Standard(); math.Abs(got-0.302) > 1e-5 {
			t.Errorf("%s: reference ± %v", name, got)
		}
	}
}

// Every kind of bad input is refused with its place and what to write.
func TestSmallFilesRefuse(t *testing.T) {
	leak := func(name, text string) error { _, err := job.ReadLeakageTest(name, []byte(text)); return err }
	cal := func(name, text string) error { _, err := job.ReadCalibration(name, []byte(text)); return err }
	study := func(name, text string) error { _, err := job.ReadStudy(name, []byte(text)); return err }
	labs := func(name, text string) error { _, err := job.ReadLabComparison(name, []byte(text)); return err }
	curve := func(name, text string) error { _, err := job.ReadTransferCurve(name, []byte(text)); return err }
	for _, c := range []struct {
		what string
		read func(name, text string) error
		name string
		text string
		want []string // of the message
	}{
		{"decimal commas, semicolons", leak, "l.csv", "test_pressure_inh2o;flow_cfm\n10;0,82\n", []string{"l.csv:1:1", "no commas", "decimal points"}},
		{"decimal commas in a row", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,0,82\n", []string{"l.csv:2:1", "3 cells", "decimal commas"}},
		{"a quoted decimal comma", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,\"0,82\"\n", []string{"l.csv:2:4", "decimal comma", `write "0.82"`}},
		{"no unit", leak, "l.csv", "test_pressure,flow_cfm\n10,0.82\n", []string{"l.csv:1:1", "no unit", "test_pressure_pa"}},
		{"a unit that does not fit", leak, "l.csv", "test_pressure_inh2o,flow_kg\n10,0.82\n", []string{"l.csv:1:21", `"flow_kg" is a mass, not a flow`, "flow_cfm"}},
		{"an unknown column", leak, "l.csv", "test_presure_inh2o,flow_cfm\n10,0.82\n", []string{"l.csv:1:1", "unknown column", "test_pressure"}},
		{"a missing column", leak, "l.csv", "test_pressure_inh2o\n10\n", []string{`no column "flow"`, "flow_cfm"}},
		{"a column twice", leak, "l.csv", "test_pressure_inh2o,flow_cfm,flow_l_s\n10,1,1\n", []string{"l.csv:1:30", "twice"}},
		{"NaN", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,NaN\n", []string{"l.csv:2:4", "flow is not a number"}},
		{"an infinite number", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,inf\n", []string{"l.csv:2:4", "not a number"}},
		{"an empty cell", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,0.8\n20,\n", []string{"l.csv:3:4", "flow is empty"}},
		{"text", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n10,0.8 cfm\n", []string{"l.csv:2:4", `"0.8 cfm" is not a number`, "without its unit"}},
		{"no rows", leak, "l.csv", "test_pressure_inh2o,flow_cfm\n", []string{"no rows"}},
		{"nothing", leak, "l.csv", "", []string{"l.csv:1:1", "empty", "test_pressure_pa,flow_cfm"}},
		{"UTF-16", leak, "l.csv", "\xff\xfet\x00", []string{"UTF-16", "UTF-8"}},
		{"a bare number in TOML", leak, "l.toml", "[[points]]\ntest_pressure = 10\nflow = \"1 cfm\"\n", []string{"l.toml:2:17", "no unit", `"10 Pa"`}},
		{"a wrong unit in TOML", leak, "l.toml", "[[points]]\ntest_pressure = \"10 kg\"\nflow = \"1 cfm\"\n", []string{"l.toml:2:17", "kg"}},
		{"a misspelt key in TOML", leak, "l.toml", "[[points]]\ntest_presure = \"10 Pa\"\nflow = \"1 cfm\"\n", []string{"l.toml:2:1", `"test_pressure"`}},
		{"no points in TOML", leak, "l.toml", "title = \"x\"\n", []string{`"points" is missing`}},
		{"a negative known flow", cal, "c.csv", "known_cfm,read_cfm\n-1,1\n", []string{"c.csv:2:4", "known flow", "above zero"}},
		{"no known flow", cal, "c.csv", "read_cfm\n1\n", []string{"known flow is missing"}},
		{"a coverage of more than half", cal, "c.csv", "known_cfm,read_cfm,u_known_percent\n1,1,60\n", []string{"more than half"}},
		{"a kind that is none", cal, "c.csv", "known_cfm,read_cfm,kind\n1,1,plat\n", []string{"c.csv:2:5", `"plat" is no kind`}},
		{"a date that is none", cal, "c.csv", "known_cfm,read_cfm,at\n1,1,May\n", []string{"c.csv:2:5", "no date", "2026-05-02"}},
		{"a negative read flow in TOML", cal, "c.toml", "[[points]]\nknown = \"1 cfm\"\nread = \"-1 cfm\"\n", []string{"c.toml:1:3", "read", "above zero"}},
		{"a share that is none", cal, "c.toml", "u_common = \"70 %\"\n[[points]]\nknown = \"1 cfm\"\nread = \"1 cfm\"\n", []string{"c.toml:1:12", "share"}},
		{"no person", study, "s.csv", "piece,flow_cfm\na,1\n", []string{`no column "person"`}},
		{"no values", study, "s.csv", "piece,person\na,b\n", []string{"no column of values", "flow_cfm"}},
		{"an empty reading", study, "s.csv", "piece,person,flow_cfm\na,b,\n", []string{"s.csv:2:1", "reading is empty"}},
		{"two columns of values", study, "s.csv", "piece,person,flow_cfm,y\na,b,1,1\n", []string{"two columns of values"}},
		{"an unknown unit in TOML", study, "s.toml", "unit = \"cfn\"\n[[readings]]\npiece = \"a\"\nperson = \"b\"\nvalue = 1\n", []string{"s.toml:1:8", `"cfn" is not known`}},
		{"a design that is none", study, "s.toml", "design = \"cross\"\nunit = \"cfm\"\n[[readings]]\npiece = \"a\"\nperson = \"b\"\nvalue = 1\n", []string{"s.toml:1:10", "crossed"}},
		{"a shop twice", labs, "r.csv", "shop,flow_cfm\nA,1\nA,2\n", []string{"r.csv:3:1", "twice"}},
		{"a negative uncertainty", labs, "r.csv", "shop,flow_cfm,u_cfm\nA,1,-1\n", []string{"r.csv:2:1", "negative"}},
		{"an uncertainty of another kind", labs, "r.csv", "shop,flow_cfm,u_pa\nA,1,1\n", []string{"r.csv:2:5", "pressure", "flow"}},
		{"both uncertainties in TOML", labs, "r.toml", "unit = \"cfm\"\n[[results]]\nshop = \"A\"\nvalue = 1\nu = 1\nexpanded = 2\n", []string{"r.toml:2:3", "both"}},
		{"a transfer curve without mass flow", curve, "t.csv", "reading,flow_cfm\n1,2\n", []string{"mass_flow"}},
	} {
		err := c.read(c.name, c.text)
		if err == nil {
			t.Errorf("%s: no error", c.what)
			continue
		}
		if _, ok := errors.AsType[job.Problems](err); !ok {
			t.Errorf("%s: %T is no list of problems", c.what, err)
		}
		for _, w := range c.want {
			if !strings.Contains(err.Error(), w) {
				t.Errorf("%s: %q does not say %q", c.what, err, w)
			}
		}
	}
}

// Whatever a file holds, it is read or refused with problems that lie inside it.
func FuzzSmallFiles(f *testing.F) {
	f.Add("test_pressure_inh2o,flow_cfm\n10,0.82\n", false)
	f.Add("piece,person,flow_cfm\na,b,1\n", false)
	f.Add("\r0", false)
	f.Add("shop,flow_cfm,u_percent\nA,1,0.5\nreference,1,\n", false)
	f.Add("known_cfm,read_cfm,u_known_cfm,kind,at\n1,1,0.1,check,2026-01-01\n", false)
	f.Add("unit = \"cfm\"\n[[readings]]\npiece=\"a\"\nperson=\"b\"\nvalue=1e300\n", true)
	f.Fuzz(func(t *testing.T, text string, toml bool) {
		name := "f.csv"
		if toml {
			name = "f.toml"
		}
		_, err1 := job.ReadLeakageTest(name, []byte(text))
		_, err2 := job.ReadCalibration(name, []byte(text))
		_, err3 := job.ReadStudy(name, []byte(text))
		_, err4 := job.ReadLabComparison(name, []byte(text))
		lines := max(strings.Count(text, "\n"), strings.Count(text, "\r")) + 1 // either may end a line
		for _, err := range []error{err1, err2, err3, err4} {
			if err == nil {
				continue
			}
			ps, ok := errors.AsType[job.Problems](err)
			if !ok {
				t.Fatalf("%T: %v", err, err)
			}
			for _, p := range ps {
				if p.Line > lines || p.Found == "" {
					t.Fatalf("problem %+v in %d lines", p, lines)
				}
			}
		}
	})
}

// What a spreadsheet or a hand makes of a table, and what is said of it.
func TestTablesThatAreNoTables(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"numbers", "10,0.82\n20,1.31\n", `leak.csv:1:1: the first line holds numbers, not the names of the columns: write a header above it like test_pressure_pa,flow_cfm`},
		{"comma at the end", "test_pressure_inh2o,flow_cfm,\n10,0.82,\n", `leak.csv:1:30: column 3 has no name: name it, its unit at the end, or take its comma away from every line`},
	} {
		_, err := job.ReadLeakageTest("leak.csv", []byte(c.text))
		if err == nil || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
	// Lines that end in a carriage return alone.
	l, err := job.ReadLeakageTest("leak.csv", []byte("test_pressure_inh2o,flow_cfm\r10,0.82\r20,1.31\r"))
	if err != nil || len(l.Points) != 2 {
		t.Errorf("lines that end in a carriage return: %d points, %v", len(l.Points), err)
	}
}
