package handover_test

import (
	"bytes"
	"strings"
	"testing"

	"runnel/assess"
	"runnel/demo"
	"runnel/internal/handover"
)

// The demo job, with its readings but without the pull, which takes longer: its handover answers, and every page of it says
// that it is invented.
func TestDemo(t *testing.T) {
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	a, err := assess.Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	d, err := handover.Build(j, a, handover.Options{})
	if err != nil {
		t.Fatal(err)
	}
	pages := strings.Split(strings.TrimSuffix(paperText(t, pdf(t, d)), "\f"), "\f")
	for i, p := range pages {
		if !strings.Contains(p, "Invented example") {
			t.Errorf("page %d does not say that the job is invented", i+1)
		}
	}
	if !strings.Contains(strings.Join(strings.Fields(pages[0]), " "), "proven gain") {
		t.Errorf("the first page gives no answer:\n%s", pages[0])
	}
}

func BenchmarkDemoPDF(b *testing.B) {
	j, err := demo.Job()
	if err != nil {
		b.Fatal(err)
	}
	a, err := assess.Readings(j)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() { // what a customer waits for: hash, tree and paper
		d, err := handover.Build(j, a, handover.Options{})
		if err != nil {
			b.Fatal(err)
		}
		if err := d.PDF(&bytes.Buffer{}); err != nil {
			b.Fatal(err)
		}
	}
}
