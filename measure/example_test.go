package measure_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"runnel/measure"
)

// A minute of a needle that starts up, swings and is knocked once. The numbers are
// invented.
func ExampleSettle() {
	rng := rand.New(rand.NewPCG(1, 1))
	t, x := make([]float64, 3000), make([]float64, 3000)
	for i := range t {
		t[i] = float64(i) / 50
		x[i] = 7000 - 5000*math.Exp(-t[i]/2) + 20*rng.NormFloat64()
	}
	x[2000] += 900
	s, err := measure.Settle(t, x, measure.SettleOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("steady %v, %.0f Pa, u %.1f Pa, %d spike\n", s.Steady, s.Mean, s.U, s.Spikes)
	_, err = measure.Settle(t[:1], x[:1], measure.SettleOptions{})
	fmt.Println(err)
	// Output:
	// steady true, 7000 Pa, u 0.4 Pa, 1 spike
	// samples of a trace, which should last 5 s and more: found 1, at least 2 are needed: too few values
}

// Two readings over one plate: its coefficient cancels in their ratio.
func ExampleRatio() {
	flow := func(x []float64) float64 { return x[0] * math.Sqrt(x[1]) }
	plate := measure.Line{Quantity: "plate coefficient", Key: "plate 3", Kind: measure.TypeB, Estimate: 0.6, U: 0.006}
	before, err := measure.Compute(flow, plate, measure.Line{Quantity: "meter pressure", Key: "reading 1", Unit: "Pa", Kind: measure.TypeA, Estimate: 2000, U: 4, Dof: 20})
	if err != nil {
		fmt.Println(err)
		return
	}
	after, err := measure.Compute(flow, plate, measure.Line{Quantity: "meter pressure", Key: "reading 2", Unit: "Pa", Kind: measure.TypeA, Estimate: 2100, U: 4, Dof: 20})
	if err != nil {
		fmt.Println(err)
		return
	}
	r, cancelled, err := measure.Ratio(after, before)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("each reading ±%.2f %%, their ratio %.4f ±%.2f %%, cancelled: %s\n",
		100*after.Relative(), r.Value, 100*r.Relative(), cancelled[0].Key)
	// Output:
	// each reading ±1.00 %, their ratio 1.0247 ±0.14 %, cancelled: plate 3
}

// Three repeats before and three after, invented, in cubic feet a minute.
func ExampleCompareRatio() {
	readings := func(cfm ...float64) []measure.Budget {
		var all []measure.Budget
		for _, v := range cfm {
			all = append(all, measure.Budget{Value: v})
		}
		return all
	}
	c, err := measure.CompareRatio(readings(301.2, 300.4, 301.9), readings(308.8, 309.6, 308.1), measure.CompareOptions{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%s: %.3f, 95 %% from %.3f to %.3f\n", c.Say(), c.Ratio, c.Lo95, c.Hi95)
	// Output:
	// proven gain: 1.025, 95 % from 1.020 to 1.031
}
