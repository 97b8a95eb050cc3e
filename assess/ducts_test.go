package assess

import (
	"math"
	"testing"

	"runnel/engine"
)

// A cycle is shown from half a revolution before gas-exchange top centre, every value still at its own angle.
func TestDuctsOf(t *testing.T) {
	const n = 180
	wave := func(deg float64) float64 { return 1e5 + 100*math.Mod(deg+720, 720) } // a value for every angle of the cycle
	r := &engine.Recording{Opens: [2]float64{-20 * degree, 500 * degree}, Closes: [2]float64{240 * degree, 735 * degree}}
	for k := range n {
		a := 720 * float64(k) / n
		r.Angle, r.Port, r.Exhaust = append(r.Angle, a*degree), append(r.Port, wave(a)), append(r.Exhaust, 2*wave(a))
	}
	r.Point.Speed = 100
	d := ductsOf(Tied{State: "after", Engine: &engine.Engine{Air: engine.Air{Pressure: 1e5}}}, r)
	if len(d.Angle) != n || d.Speed != 6000 || d.Room != 1e5 || d.Angle[0] != -180 || d.Angle[n-1] != 536 {
		t.Fatalf("%d angles from %g° to %g°", len(d.Angle), d.Angle[0], d.Angle[n-1])
	}
	for k, a := range d.Angle {
		if d.Intake[k] != math.Round(wave(a)) || d.Exhaust[k] != math.Round(2*wave(a)) {
			t.Errorf("%g°: %g and %g Pa, wanted %g", a, d.Intake[k], d.Exhaust[k], wave(a))
		}
	}
	if d.Opens != [2]float64{-20, 500} || d.Closes != [2]float64{240, 15} {
		t.Errorf("%v %v", d.Opens, d.Closes)
	}
	r.Exhaust = nil
	if ductsOf(Tied{Engine: &engine.Engine{}}, r).Exhaust != nil {
		t.Error("an exhaust that there is none of")
	}
}
