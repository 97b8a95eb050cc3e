package measure

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The sets NumAcc1 to NumAcc4 of the NIST univariate collection are given by rule:
// NumAcc1 is 10000001, 10000003, 10000002; NumAcc2 is 1.2 followed by 500 times
// 1.1, 1.3; NumAcc3 is the same at 1000000.2 and NumAcc4 at 10000000.2. Their
// certified values are exact. The tolerance of the deviation is what storing the
// values in float64 leaves: half a unit in the last place over 0.1.
func TestMomentsByRule(t *testing.T) {
	alternate := func(mid float64) []float64 {
		x := []float64{mid}
		for range 500 {
			x = append(x, mid-0.1, mid+0.1)
		}
		return x
	}
	for _, c := range []struct {
		name         string
		x            []float64
		mean, sd, r1 float64
		tol          float64
	}{
		{"NumAcc1", []float64{10000001, 10000003, 10000002}, 10000002, 1, -0.5, 1e-15},
		{"NumAcc2", alternate(1.2), 1.2, 0.1, -0.999, 1e-14},
		{"NumAcc3", alternate(1000000.2), 1000000.2, 0.1, -0.999, 1e-9},
		{"NumAcc4", alternate(10000000.2), 10000000.2, 0.1, -0.999, 1e-8},
	} {
		same(t, c.name+" mean", Mean(c.x), c.mean, 1e-15)
		same(t, c.name+" sd", SD(c.x), c.sd, c.tol)
		rho, err := Autocorrelation(c.x, 1)
		if err != nil {
			t.Fatal(err)
		}
		same(t, c.name+" lag 1", rho[1], c.r1, c.tol)
	}
}

// Moving all values moves the mean and the median and changes no spread; scaling
// scales all. 1e-9 of the offset is far above rounding.
func TestMomentsMoveAndScale(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-5, 5), 3, 40).Draw(t, "x")
		shift := rapid.Float64Range(-1e4, 1e4).Draw(t, "shift")
		scale := rapid.Float64Range(0.1, 10).Draw(t, "scale")
		y := make([]float64, len(x))
		for i, v := range x {
			y[i] = scale*v + shift
		}
		for _, c := range [][2]float64{
			{Mean(y), scale*Mean(x) + shift},
			{Median(y), scale*Median(x) + shift},
			{Quantile(y, 0.3), scale*Quantile(x, 0.3) + shift},
			{SD(y), scale * SD(x)},
			{MAD(y), scale * MAD(x)},
		} {
			if math.Abs(c[0]-c[1]) > 1e-9*(1+math.Abs(shift)) {
				t.Fatalf("got %v, want %v", c[0], c[1])
			}
		}
	})
}

// Hyndman and Fan, definition 7: order statistic 1 + (n − 1)p.
func TestQuantile(t *testing.T) {
	x := []float64{40, 10, 30, 20}
	for _, c := range [][2]float64{{0, 10}, {1. / 3, 20}, {0.5, 25}, {0.9, 37}, {1, 40}} {
		same(t, "quantile", Quantile(x, c[0]), c[1], 1e-14)
	}
	if x[0] != 40 {
		t.Error("Quantile sorted its argument")
	}
	for _, v := range []float64{Quantile(nil, 0.5), Median(nil), MAD(nil), SD([]float64{1}), Mean(nil)} {
		if !math.IsNaN(v) {
			t.Errorf("an empty sample gives %v, want NaN", v)
		}
	}
}
