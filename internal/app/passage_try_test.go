package app_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"runnel/internal/app"
)

// While stations are typed, good lines are told though others are bad, and every bad place is named.
func TestTryStations(t *testing.T) {
	got := app.TryStations("# mine\ns_mm,shape,diameter_mm,width_mm,height_mm\n0,round,40,,\n50,round,,,\n90,ellipse,,30,20\n80,round,x,,\n")
	if len(got.Rows) != 2 || got.Rows[0].Line != 3 || got.Rows[1].Line != 5 {
		t.Fatalf("%+v", got.Rows)
	}
	for i, want := range []float64{math.Pi / 4 * 0.04 * 0.04, math.Pi / 4 * 0.03 * 0.02} {
		if math.Abs(got.Rows[i].Area/want-1) > 1e-9 || len(got.Rows[i].Outline) < 100 {
			t.Errorf("line %d: %g m², %d points", got.Rows[i].Line, got.Rows[i].Area, len(got.Rows[i].Outline))
		}
	}
	if len(got.Wrong) != 2 || got.Wrong[0].Line != 4 || got.Wrong[0].Column != "diameter_mm" || got.Wrong[1].Line != 6 || got.Wrong[1].Column != "diameter_mm" {
		t.Errorf("%+v", got.Wrong)
	}
	if got.Length != 0 {
		t.Errorf("a length of %g m although places are wrong", got.Length)
	}
	// Two circles of 40 mm, 100 mm apart: a cylinder.
	good := app.TryStations("s_mm,shape,diameter_mm\n0,round,40\n100,round,40\n")
	if len(good.Wrong) != 0 || math.Abs(good.Length-0.1) > 1e-12 || math.Abs(good.Volume/(math.Pi/4*0.04*0.04*0.1)-1) > 1e-9 {
		t.Errorf("%+v", good)
	}
	if one := app.TryStations("s_mm,shape,diameter_mm\n0,round,40\n"); len(one.Rows) != 1 || len(one.Wrong) != 1 || !strings.Contains(one.Wrong[0].Write, "entry and the exit") {
		t.Errorf("%+v", one)
	}
}

// All places that have to be mended are told when stations are kept, as they are while typing.
func TestEveryWrongPlaceIsTold(t *testing.T) {
	err := passages(t).SaveStations(t.Context(), placed("2", "received"), "s_mm,shape,diameter_mm\n0,round,abc\n40,rnd,33\n80,round,0\n")
	var lines []int
	for _, c := range app.CellErrors(err) {
		lines = append(lines, c.Line)
	}
	if !slices.Equal(lines, []int{2, 3, 4}) {
		t.Errorf("lines %v of %v", lines, err)
	}
}
