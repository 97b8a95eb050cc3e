package bench_test

import (
	"fmt"

	"runnel/bench"
	"runnel/job"
	"runnel/unit"
)

// 300 cfm at 28 inH2O are 183.8 cfm at 10 inH2O and not the 179.3 cfm of the square-root rule: the ratios 1.6321 and 1.6733
// of the project's literature notes, section 1.2.
func ExampleRestate() {
	from, err := bench.ReferenceOf(job.Reference{})
	if err != nil {
		fmt.Println(err)
	}
	to, err := bench.ReferenceOf(job.Reference{TestPressure: unit.Pressure.Of(10, "inH2O")})
	if err != nil {
		fmt.Println(err)
	}
	r, err := bench.Restate(unit.VolumeFlow.Of(300, "cfm"), from, to)
	fmt.Println(unit.VolumeFlow.Format(r.Flow, "cfm", 1), unit.VolumeFlow.Format(r.FlowSqrtRule, "cfm", 1), err)
	// Output: 183.8 cfm 179.3 cfm <nil>
}
