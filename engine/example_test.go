package engine_test

import (
	"context"
	"fmt"

	"runnel/engine"
	"runnel/job"
)

// A card of what is known; what is not is taken by a default, and named.
func Example() {
	mm, deg := 1e-3, 3.14159265/180
	card := job.Engine{
		Cylinders: 1, Bore: 86 * mm, Stroke: 86 * mm, CompressionRatio: 10,
		Cam: job.CamCard{Intake: job.LobeCard{Opens: 12 * deg, Closes: 48 * deg, AtLift: 1 * mm, PeakLift: 10 * mm}},
		Inlet: job.InletCard{
			Layout: "individual", RunnerLength: 300 * mm, RunnerEntry: 44 * mm, RunnerExit: 40 * mm, ThrottleBore: 44 * mm,
		},
	}
	e, err := engine.FromCard(card, engine.Flowed{})
	if err != nil {
		fmt.Println(err)
		return
	}
	points, err := engine.Pull(context.Background(), e, []float64{3000. / 60}, engine.Options{Mesh: engine.CoarseMesh}, nil)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("settled:", points[0].Settled)
	fmt.Println(e.Assumed[0])
	fmt.Println(e.Assumed[1])
	// Output:
	// settled: true
	// connecting rod 141.9 mm long
	// air ratio 0.88
}
