package engine

import (
	"math"
	"math/rand/v2"
	"testing"

	"runnel/job"
)

// randomCard is an engine of any usual proportion.
func randomCard(r *rand.Rand) job.Engine {
	in := func(a, b float64) float64 { return a + (b-a)*r.Float64() }
	pick := func(s ...string) string { return s[r.IntN(len(s))] }
	b := in(0.05, 0.11)
	n := []int{1, 2, 3, 4, 6, 8}[r.IntN(6)]
	c := job.Engine{
		Cylinders: n, Bore: b, Stroke: b * in(0.6, 1.3), CompressionRatio: in(7, 13),
		Fuel: job.FuelCard{Name: pick("gasoline", "e85", "ethanol", "methanol"), Lambda: in(0.75, 1.2)},
		Cam: job.CamCard{
			Intake:  job.LobeCard{Opens: deg(in(-5, 50)), Closes: deg(in(30, 90)), PeakLift: b * in(0.08, 0.15), Lash: 0.0002},
			Exhaust: job.LobeCard{Opens: deg(in(30, 90)), Closes: deg(in(-5, 50)), PeakLift: b * in(0.08, 0.15), Lash: 0.0002},
		},
		Intake: job.ValveCard{Count: 1 + r.IntN(2)}, Exhaust: job.ValveCard{Count: 1 + r.IntN(2)},
		Inlet: job.InletCard{
			Layout: pick("plenum", "individual"), RunnerLength: in(0.03, 0.8), PlenumVolume: in(0.1, 2) * b * b * b * float64(n),
			PortLength: in(0.03, 0.1), ThrottleBore: b * in(0.3, 0.9), DuctLength: in(0, 1) * float64(r.IntN(2)),
		},
		Outlet: job.OutletCard{PortLength: 0.06, PrimaryLength: in(0, 1) * float64(r.IntN(2)), BackPressure: in(0, 1e4)},
	}
	if n%2 == 0 && r.IntN(3) == 0 {
		c.Inlet.Layout = "two_plenums"
	}
	return c
}

// Engines of any usual proportion run at any usual speed (to 22 m/s of mean piston speed), on the coarsest mesh in use, without a fault, and their answers are sane: a
// volumetric efficiency of 0.05 to 1.6, residuals below 0.7, temperatures and pressures finite.
func TestRandomEngines(t *testing.T) {
	n := 40
	if testing.Short() {
		n = 8
	}
	for seed := range uint64(n) {
		r := rand.New(rand.NewPCG(seed, 7))
		card := randomCard(r)
		e, err := FromCard(card, Flowed{})
		if err != nil {
			t.Errorf("seed %d: %v", seed, err)
			continue
		}
		top := 22 / (2 * card.Stroke) // 22 m/s of mean piston speed
		speeds := []float64{(0.15 + 0.1*r.Float64()) * top, (0.5 + 0.2*r.Float64()) * top, (0.9 + 0.1*r.Float64()) * top}
		p, err := Pull(t.Context(), e, speeds, Options{Mesh: sketchMesh, MaxCycles: 8, Tolerance: 5e-3}, nil)
		if err != nil {
			t.Errorf("seed %d, %d cylinders, %s: %v", seed, card.Cylinders, card.Inlet.Layout, err)
			continue
		}
		for _, q := range p {
			for _, c := range q.Cylinders {
				if !(c.VE > 0.05 && c.VE < 1.6) || !(c.Residual >= 0 && c.Residual < 0.7) || math.IsNaN(q.Torque) || !(c.PeakPressure < 2e7) {
					t.Errorf("seed %d at %.0f rpm: VE %.3f, residual %.3f, peak %.3g Pa", seed, q.Speed*60, c.VE, c.Residual, c.PeakPressure)
				}
			}
		}
	}
}
