package assess

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/job"
)

// A bench that drifts by 1.6 % between two sittings, with a tract that was not touched: the pieces in series flow after what they flowed
// before, with an engine card or without one.
func TestDriftIsNoChangeOfTheTract(t *testing.T) {
	for name, change := range map[string]func(*job.Job){
		"with the engine":    func(*job.Job) {},
		"without the engine": func(j *job.Job) { j.Engine = nil },
	} {
		j := untouched(t, -0.0085, 0.0075)
		change(&j)
		got, err := Readings(j)
		if err != nil {
			t.Fatal(err)
		}
		if len(got.Restriction) != 2 {
			t.Fatalf("%s: %d states of the tract", name, len(got.Restriction))
		}
		before, after := got.Restriction[0], got.Restriction[1]
		for i, b := range before.Pieces {
			a := after.Pieces[i]
			if math.Abs(a.Area/b.Area-1) > 5e-4 { // the plate's coefficient moves a little with the pressure difference
				t.Errorf("%s: %s has %.5g m² before and %.5g after", name, b.Piece, b.Area, a.Area)
			}
			if b.Round == a.Round && b.Area != a.Area {
				t.Errorf("%s: %s was flowed once, and has %.6g and %.6g m²", name, b.Piece, b.Area, a.Area)
			}
		}
		if math.Abs(after.Area/before.Area-1) > 5e-4 {
			t.Errorf("%s: the tract has %.5g m² before and %.5g after", name, before.Area, after.Area)
		}
		for _, r := range got.Restriction {
			if r.Bench != "again" || len(r.Bridged) != 1 || !strings.Contains(r.Note, "put right to the bench as it stood in again, as for the verdicts") || !strings.Contains(r.Note, r.Bridged[0]) {
				t.Errorf("%s: %s: bench %q, bridged %q, note %q", name, r.State, r.Bench, r.Bridged, r.Note)
			}
		}
	}
}

// The tract stands on the areas that the twins are tied to.
func TestTractHasTheAreasOfTheTwins(t *testing.T) {
	j := untouched(t, -0.0085, 0.0075)
	got, err := Readings(j)
	if err != nil {
		t.Fatal(err)
	}
	tied, err := Twins(t.Context(), j, nil)
	if err != nil {
		t.Fatal(err)
	}
	for k, r := range got.Restriction {
		if r.Bench != tied[k].Bench || !slices.Equal(r.Bridged, tied[k].Bridged) {
			t.Errorf("%s: the tract stands in the bench of %q by %q, the twins in %q by %q", r.State, r.Bench, r.Bridged, tied[k].Bench, tied[k].Bridged)
		}
		sum, n := 0.0, 0.0
		for _, c := range tied[k].Closures {
			if strings.HasPrefix(c.Opening, "runner") {
				sum, n = sum+c.Measured, n+1
			}
		}
		i := slices.IndexFunc(r.Pieces, func(p RestrictionPiece) bool { return p.Piece == j.Engine.Inlet.RunnerPiece })
		if i < 0 || n != 6 || math.Abs(r.Pieces[i].Area/(sum/n)-1) > 1e-12 {
			t.Errorf("%s: %d runners of %.8g m² on average in the twins, the tract has %+v", r.State, int(n), sum/n, r.Pieces)
		}
	}
}

// Readings of one sitting are as they were, and nothing is said of a bench.
func TestTractOfOneSittingIsAsRead(t *testing.T) {
	j := untouched(t, -0.0085, 0.0075)
	j.Sittings, j.Rounds = j.Sittings[:1], slices.DeleteFunc(j.Rounds, func(r job.Round) bool { return r.Piece == "manifold" && r.ID != "received" })
	j.Compare = nil
	s, err := solve(j)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.out.Restriction) != 1 {
		t.Fatalf("%d states of the tract", len(s.out.Restriction))
	}
	r := s.out.Restriction[0]
	if r.Bench != j.Sittings[0].ID || len(r.Bridged) != 0 || r.BenchWords() != "" || strings.Contains(r.Note, "put right") {
		t.Errorf("bench %q, bridged %q, note %q", r.Bench, r.Bridged, r.Note)
	}
	for _, p := range r.Pieces {
		if read, _ := s.best(p.Piece, p.Round); read.area != p.Area {
			t.Errorf("%s: %.8g m² of %.8g read", p.Piece, p.Area, read.area)
		}
	}
}
