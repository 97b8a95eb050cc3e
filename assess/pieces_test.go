package assess

import (
	"math"
	"strings"
	"testing"

	"runnel/bench"
	"runnel/job"
)

// headSolver has a head flowed in one round: at 10 mm opening 1 three times and 2 once, and at 5 mm bare and radiused.
func headSolver(peak float64) *solver {
	rig := func(entry string) job.RigCard { return job.RigCard{ID: "rig-" + entry, Piece: "head", Entry: entry} }
	read := func(entry, opening string, lift, area float64) bench.Reading {
		return bench.Reading{Rig: rig(entry), Round: "received", Opening: opening, Lift: lift, EffectiveArea: area}
	}
	return &solver{
		job: job.Job{
			Rounds: []job.Round{{ID: "received", Piece: "head"}},
			Engine: &job.Engine{Cam: job.CamCard{Intake: job.LobeCard{PeakLift: peak, Lash: 0.0003}}},
		},
		pieces: map[string]job.Piece{"head": {ID: "head"}},
		readings: []bench.Reading{
			read("radiused", "1", 0.005, 300e-6), read("bare", "1", 0.005, 280e-6),
			read("radiused", "1", 0.010, 700e-6), read("radiused", "1", 0.010, 704e-6), read("radiused", "1", 0.010, 708e-6),
			read("radiused", "2", 0.010, 684e-6), read("radiused", "1", 0.013, 800e-6),
		},
	}
}

// Over lift the openings count alike, however often each was repeated, and a bare entry does not stand beside a radiused one.
func TestOverLift(t *testing.T) {
	got := headSolver(0.0115).overLift("head", "before", "in")
	want := []float64{300e-6, (704e-6 + 684e-6) / 2, 800e-6}
	if len(got) != len(want) {
		t.Fatalf("%d lifts, want %d", len(got), len(want))
	}
	for i, w := range want {
		if math.Abs(got[i].Area/w-1) > 1e-12 {
			t.Errorf("%.1f mm: %.6g m², want %.6g", got[i].Lift*1e3, got[i].Area, w)
		}
	}
}

// A head stands in the tract at the highest lift its cam reaches; at the lowest read when it reaches none; at the highest read when the cam is not known.
func TestBestLift(t *testing.T) {
	for _, c := range []struct{ peak, want float64 }{{0.0115, 0.010}, {0.0104, 0.010}, {0.0102, 0.005}, {0.014, 0.013}, {0.004, 0.005}, {0, 0.013}} {
		p, ok := headSolver(c.peak).best("head", "received")
		if !ok || p.lift != c.want {
			t.Errorf("cam of %.1f mm: flow at %.1f mm stands, want %.1f", c.peak*1e3, p.lift*1e3, c.want*1e3)
		}
	}
}

// A runner that was flowed and feeds no cylinder is named, as one that feeds a cylinder and was not flowed: a manifold of another engine,
// or openings that bear other names, would else pass for measured.
func TestRunnersOfNoCylinder(t *testing.T) {
	s := headSolver(0.0115)
	p := pieceArea{round: "received", rig: job.RigCard{ID: "rig-radiused"}, lift: 0.010, area: 694e-6}
	for _, c := range []struct {
		cylinders int
		want      string
	}{
		{1, "opening 2 was flowed, but it feeds none of the 1 cylinders: openings are numbered as the cylinders"},
		{2, ""},
		{3, "runner 3 was not flowed: it is taken as the mean of the others"},
	} {
		areas, notes := s.runners(p, c.cylinders)
		if got := strings.Join(notes, "; "); len(areas) != c.cylinders || got != c.want || math.Abs(areas[0]/704e-6-1) > 1e-9 {
			t.Errorf("%d cylinders: %v, %q", c.cylinders, areas, got)
		}
	}
}
