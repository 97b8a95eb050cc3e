package main

import (
	"bytes"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"runnel/job"
	"runnel/passage"
)

// The embedded demo is what the generator writes: neither can be changed alone.
func TestEmbeddedFilesAreGenerated(t *testing.T) {
	want, err := files()
	if err != nil {
		t.Fatal(err)
	}
	for name, data := range want {
		got, err := os.ReadFile(filepath.Join("..", name))
		if err != nil || !bytes.Equal(got, data) {
			t.Fatalf("%s is not what the generator writes (%v): run go generate ./demo", name, err)
		}
	}
	err = fs.WalkDir(os.DirFS(".."), ".", func(name string, d fs.DirEntry, err error) error {
		ext := filepath.Ext(name)
		if err == nil && !d.IsDir() && (ext == ".toml" || ext == ".csv") && want[name] == nil {
			t.Errorf("%s is not made by the generator", name)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func firstSitting(t *testing.T) *job.Sitting {
	t.Helper()
	return &job.Sitting{Air: air(at(7, 8, 0), time.Hour, [][3]float64{{98640, 19.6, 46}, {98610, 20.4, 45}, {98600, 21, 45}})}
}

// The inverted meter gives back the flow it was asked for, and the settled bench holds its own balance.
func TestRigBalances(t *testing.T) {
	room, err := (&spell{sitting: firstSitting(t)}).room(at(7, 9, 0))
	if err != nil {
		t.Fatal(err)
	}
	g := &rig{air: room, leakK: leak(1.25, 0.58), leakN: 0.58}
	g.plate.Pipe, g.plate.Bore = 0.1, 0.06
	const a = 880e-6
	valve, steady, err := g.valve(a, testPressure)
	if err != nil {
		t.Fatal(err)
	}
	got, err := g.settle(a, 1, valve, state{steady.dp * 0.9, steady.meterDP * 0.9})
	if err != nil || math.Abs(got.dp/testPressure-1) > 1e-6 {
		t.Errorf("the bench settles at %v Pa, not %v: %v", got.dp, testPressure, err)
	}
	mass := g.flow(a, got.dp)
	d, err := g.difference(mass, got.dp, 500)
	if err != nil || math.Abs(d/got.meterDP-1) > 1e-7 {
		t.Errorf("the plate shows %v Pa from one start, %v from another: %v", d, got.meterDP, err)
	}
	// Area from the orifice equation alone, C about 0.607 at β = 0.6 (ISO 5167-2 table A.1, corner taps: 0.606 to 0.610).
	p1 := room.Pressure - got.dp
	rho := room.Density * p1 / room.Pressure
	rough := 0.607 / math.Sqrt(1-math.Pow(0.6, 4)) * math.Pi / 4 * 0.06 * 0.06 * math.Sqrt(2*d*rho) * plateC
	if math.Abs(rough/mass-1) > 0.02 {
		t.Errorf("mass flow %v, by hand %v", mass, rough)
	}
}

// The worth of the entry is that of the handbook losses, worked here the other way round: as a pressure drop.
func TestEntryIsWorthItsLoss(t *testing.T) {
	bare, err := area(195)
	if err != nil {
		t.Fatal(err)
	}
	rounded, err := withEntry(bare)
	if err != nil {
		t.Fatal(err)
	}
	sharp, _ := passage.EntryLoss(0)
	round, _ := passage.EntryLoss(entryRadius / entryBore)
	const q, rho = 0.1, 1.2
	head := func(a float64) float64 { return rho / 2 * (q / a) * (q / a) }
	saved := (sharp.K - round.K) * head(math.Pi/4*entryBore*entryBore)
	if math.Abs(head(bare)-head(rounded)-saved) > 1e-9*saved {
		t.Errorf("drops %v and %v differ by other than %v Pa", head(bare), head(rounded), saved)
	}
	if gain := rounded/bare - 1; gain < 0.02 || gain > 0.06 {
		t.Errorf("a gain of %.1f %% is not what a radius gives", 100*gain)
	}
}

func TestAnOpenBenchIsRefused(t *testing.T) {
	room, err := (&spell{sitting: firstSitting(t)}).room(at(7, 9, 0))
	if err != nil {
		t.Fatal(err)
	}
	g := &rig{air: room}
	g.plate.Pipe, g.plate.Bore = 0.1, 0.06
	if _, _, err := g.valve(4000e-6, testPressure); err == nil {
		t.Error("the blower holds any pressure on any hole")
	}
}
