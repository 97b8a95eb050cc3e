package app_test

import (
	"testing"

	"runnel/internal/app"
)

// A job is booked in by hand with the bench of another, and a sitting can begin at once.
func TestBookIn(t *testing.T) {
	a, ctx := sittings(t), t.Context()
	f := app.NewJob{
		Title: "Köhler's twin-cam head", Customer: "A. Customer", Kind: "head", Piece: "Twin-cam head", Openings: "1-4", TestPressure: "28 inH2O",
		Entry: "radiused", BenchOf: "six", Blanked: "all other ports",
	}
	id, err := a.BookIn(ctx, f)
	if err != nil || id != "k-hler-s-twin-cam-head" {
		t.Fatalf("%q, %v", id, err)
	}
	j, err := a.Facts(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if p := j.Pieces[0]; p.Kind != "head" || len(p.Openings) != 4 || p.Openings[3] != "4" || j.Invented || j.Bench.ID != "test-bench" || j.Rigs[0].Entry != "radiused" {
		t.Errorf("%+v", j)
	}
	if again, err := a.BookIn(ctx, f); err != nil || again != id+"-2" {
		t.Errorf("the second of the same title: %q, %v", again, err)
	}
	if _, err := a.BeginSitting(ctx, id, app.NewSitting{Air: airNow()}); err != nil {
		t.Error(err)
	}
	_, err = a.BookIn(ctx, app.NewJob{Kind: "pig", Openings: "4-1", TestPressure: "28", Entry: "square", BenchOf: "none"})
	p := wrong(t, err)
	for _, field := range []string{"title", "customer", "kind", "openings", "test_pressure", "entry", "bench_of"} {
		if p[field] == "" {
			t.Errorf("nothing is said of %s: %v", field, p)
		}
	}
	f.Openings = "1, 2, 2"
	if _, err := a.BookIn(ctx, f); wrong(t, err)["openings"] == "" {
		t.Error("an opening stands twice")
	}
}
