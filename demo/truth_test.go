package demo_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"testing"

	"runnel/bench"
	"runnel/demo"
	"runnel/job"
	"runnel/measure"
)

// truth reads what the simulated bench really had on it: the effective area of each reading's piece [m²].
func truth(t *testing.T) map[string]float64 {
	t.Helper()
	f, err := os.Open("truth.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = f.Close() }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	out := map[string]float64{}
	for _, row := range rows[1:] {
		if out[row[0]], err = strconv.ParseFloat(row[6], 64); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// solve reads every reading of the demo.
func solve(t *testing.T) (used []bench.Reading, refused map[string]error) {
	t.Helper()
	j, err := demo.Job()
	if err != nil {
		t.Fatal(err)
	}
	ref, err := bench.ReferenceOf(j.Reference)
	if err != nil {
		t.Fatal(err)
	}
	setup, err := bench.NewSetup(j.Bench)
	if err != nil {
		t.Fatal(err)
	}
	rigs := map[string]job.RigCard{}
	for _, r := range j.Rigs {
		rigs[r.ID] = r
	}
	refused = map[string]error{}
	for _, card := range j.Sittings {
		s, err := setup.Sitting(card, j.Traces)
		if err != nil {
			t.Fatal(err)
		}
		if len(s.Marks) > 0 {
			t.Errorf("sitting %s is marked: %q", card.ID, s.Marks)
		}
		for _, r := range card.Readings {
			got, err := s.Read(r, rigs[r.Rig], j.Traces, ref)
			if err != nil {
				refused[r.ID] = err
				continue
			}
			used = append(used, got)
		}
	}
	return used, refused
}

// The chain from trace to effective area finds the truth the simulation started from. All readings of the one bench share its
// errors, which were set inside the uncertainties on the cards; so nearly all intervals must hold the truth, and none may miss
// it by more than twice its half-width.
func TestReadingsHoldTheTruth(t *testing.T) {
	want := truth(t)
	used, _ := solve(t)
	held, worst := 0, 0.0
	for _, r := range used {
		miss := math.Abs(r.EffectiveArea-want[r.ID]) / r.Expanded.U
		if miss <= 1 {
			held++
		}
		if worst = max(worst, miss); miss > 2 {
			t.Errorf("%s: %.2f mm² ± %.2f, truth %.2f", r.ID, 1e6*r.EffectiveArea, 1e6*r.Expanded.U, 1e6*want[r.ID])
		}
	}
	t.Logf("%d of %d intervals hold the truth; the worst misses by %.2f half-widths", held, len(used), worst)
	if share := float64(held) / float64(len(used)); share < 0.93 {
		t.Errorf("only %.0f %% of the intervals hold the truth", 100*share)
	}
}

// The frozen sensor, and nothing else, is refused, by name.
func TestFrozenSensorIsRefused(t *testing.T) {
	_, refused := solve(t)
	for id, err := range refused {
		if !errors.Is(err, measure.ErrFrozen) {
			t.Errorf("%s: %v", id, err)
		}
	}
	if len(refused) != 1 {
		t.Errorf("%d readings are refused: %v", len(refused), refused)
	}
}
