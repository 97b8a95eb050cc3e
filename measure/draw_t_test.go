package measure_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"runnel/measure"
)

// Type A inputs are drawn from a t distribution also where they are correlated or rest on one estimate of scatter. Each by itself has
// the quantiles of tables of Student's t; t_0.975 of 4 degrees of freedom is 2.776.
//
// For a sum of two of one pool with no correlation, the pair is a bivariate t, whose sum over √2 is again t with the same degrees of
// freedom (Kotz and Nadarajah, Multivariate t Distributions and Their Applications, 2004, chapter 1, from memory); of two pools it is not, and
// lies closer to the normal distribution.
func TestDrawCorrelatedT(t *testing.T) {
	const nu, table = 4, 2.776
	line := func(pool string) measure.Line {
		return measure.Line{Kind: measure.TypeA, Distribution: measure.StudentT, U: 1, Dof: nu, Pool: pool}
	}
	half := func(f func(x []float64) float64, inputs []measure.Line, r, p float64) float64 {
		t.Helper()
		opt := measure.PropagateOptions{Draws: 400_000, P: p}
		if r != 0 {
			opt.Correlation = []measure.Pair{{I: 0, J: 1, R: r}}
		}
		d, err := measure.Propagate(rand.New(rand.NewPCG(5, 7)), f, inputs, opt)
		if err != nil {
			t.Fatal(err)
		}
		return (d.Hi - d.Lo) / 2
	}
	first := func(x []float64) float64 { return x[0] }
	second := func(x []float64) float64 { return x[1] }
	sum := func(x []float64) float64 { return (x[0] + x[1]) / math.Sqrt2 }
	// The end of a 95 % interval of 4e5 draws is known to 0.6 % (sqrt(0.025·0.975/4e5) over the density there, two ends).
	for name, c := range map[string]struct{ got, want float64 }{
		"first of a correlated pair":       {half(first, []measure.Line{line(""), line("")}, 0.6, 0.95), table},
		"second of a correlated pair":      {half(second, []measure.Line{line(""), line("")}, 0.6, 0.95), table},
		"sum of one pool":                  {half(sum, []measure.Line{line("p"), line("p")}, 0, 0.95), table},
		"sum of one pool, correlated":      {half(sum, []measure.Line{line("p"), line("p")}, 0.6, 0.95), table * math.Sqrt(1.6)},
		"correlated with a normal of ν= ∞": {half(second, []measure.Line{line(""), {U: 1}}, 0.6, 0.95), 1.95996},
	} {
		if math.Abs(c.got/c.want-1) > 0.015 {
			t.Errorf("%s: half-width %.3f, want %.3f", name, c.got, c.want)
		}
	}
	// Far out the two part: t_0.9995 of 4 degrees of freedom is 8.610 in the tables.
	pooled := half(sum, []measure.Line{line("p"), line("p")}, 0, 0.999)
	if math.Abs(pooled/8.610-1) > 0.08 {
		t.Errorf("99.9 %% of the sum of one pool: half-width %.3f, want 8.610", pooled)
	}
	if apart := half(sum, []measure.Line{line("p"), line("q")}, 0, 0.999); apart > 0.9*8.610 {
		t.Errorf("99.9 %% of the sum of two pools: half-width %.3f, want well below 8.610", apart)
	}
}
