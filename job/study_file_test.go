package job_test

import (
	"os"
	"reflect"
	"testing"

	"runnel/job"
)

// A study and a comparison that came as CSV are written as TOML that says the same.
func TestStudiesAsFiles(t *testing.T) {
	read := func(name string) []byte {
		t.Helper()
		data, err := os.ReadFile("../examples/bench/" + name)
		if err != nil {
			t.Fatal(err)
		}
		return data
	}
	s, err := job.ReadStudy("study.csv", read("study.csv"))
	if err != nil {
		t.Fatal(err)
	}
	s.Title, s.Claim, s.Design = "Spring", 0.02, "crossed"
	text, err := s.File()
	if err != nil {
		t.Fatal(err)
	}
	if again, err := job.ReadStudy("study.toml", text); err != nil || !reflect.DeepEqual(again, s) {
		t.Errorf("%+v became %+v, %v\n%s", s, again, err, text)
	}
	for _, more := range []string{"", "reference,150.2,0.2\n"} {
		c, err := job.ReadLabComparison("shops.csv", append(read("shops.csv"), more...))
		if err != nil || (c.Reference != nil) != (more != "") {
			t.Fatalf("%+v, %v", c, err)
		}
		c.Title = "Spring"
		if text, err = c.File(); err != nil {
			t.Fatal(err)
		}
		if again, err := job.ReadLabComparison("shops.toml", text); err != nil || !reflect.DeepEqual(again, c) {
			t.Errorf("%+v became %+v, %v\n%s", c, again, err, text)
		}
	}
}
