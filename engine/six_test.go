package engine

import (
	"testing"

	"runnel/job"
)

// sixCard is an invented three-litre in-line six.
func sixCard() job.Engine {
	return job.Engine{
		Title: "invented three-litre six", Cylinders: 6, FiringOrder: []int{1, 5, 3, 6, 2, 4},
		Bore: 0.0845, Stroke: 0.089, Rod: 0.145, CompressionRatio: 10.5,
		Cam: job.CamCard{
			Intake:  job.LobeCard{Opens: deg(20), Closes: deg(56), AtLift: 0.00127, PeakLift: 0.0108, Lash: 0.00025},
			Exhaust: job.LobeCard{Opens: deg(56), Closes: deg(20), AtLift: 0.00127, PeakLift: 0.0105, Lash: 0.0003},
		},
		Intake:  job.ValveCard{Count: 1, Head: 0.042},
		Exhaust: job.ValveCard{Count: 1, Head: 0.035},
		Inlet: job.InletCard{
			PlenumVolume: 3.5e-3, RunnerLength: 0.28, RunnerEntry: 0.044, RunnerExit: 0.040, PortLength: 0.09, PortBore: 0.036,
			ThrottleBore: 0.070, ThrottleShaft: 0.009, DuctLength: 0.25, DuctBore: 0.075,
		},
		Outlet: job.OutletCard{PortLength: 0.07, PrimaryLength: 0.75, PrimaryBore: 0.040, Collectors: 2, CollectorLength: 0.6, CollectorBore: 0.055},
	}
}

func six(t testing.TB) *Engine { return engineOf(t, sixCard()) }

func engineOf(t testing.TB, c job.Engine) *Engine {
	t.Helper()
	e, err := FromCard(c, Flowed{})
	if err != nil {
		t.Fatal(err)
	}
	return e
}

func rpm(from, to, step float64) (n []float64) {
	for v := from; v <= to; v += step {
		n = append(n, v/60)
	}
	return n
}
