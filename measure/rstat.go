package measure

import (
	"fmt"
	"math"
)

// An RFilter holds the three weights [-] of the R-statistic's filters, each in
// 0 … 1: the mean, the variance about the mean, the variance of steps.
type RFilter struct {
	Mean  float64 // λ1, weight of the filtered mean [-]
	About float64 // λ2, weight of the variance about the filtered mean [-]
	Step  float64 // λ3, weight of the mean squared step [-]
}

// RFast returns the fast setting of the R-statistic, 0.2/0.1/0.1: it sees a change
// of level at once.
func RFast() RFilter { return RFilter{0.2, 0.1, 0.1} }

// RSlow returns the slow setting of the R-statistic, 0.05/0.05/0.05: it sees a ramp
// of a tenth of a standard deviation a sample.
func RSlow() RFilter { return RFilter{0.05, 0.05, 0.05} }

// RStatistic writes into dst the R-statistic of Cao and Rhinehart [-] for each
// sample of x, which must not be correlated with its neighbours. It is near 1
// where x is steady and rises where the level moves. The filters start from the
// first ten samples as if these were steady (R = 1), so that a trace which
// starts on the move shows it as it moves. dst is grown when it is too short.
//
//	ν² = λ2(x − x̃)² + (1 − λ2)ν²,  then  x̃ = λ1·x + (1 − λ1)x̃
//	δ² = λ3(x − x_prev)² + (1 − λ3)δ²
//	R  = (2 − λ1)ν²/δ²
//
// Source: Cao and Rhinehart, J. Process Control 5 (1995) 363.
func RStatistic(x []float64, f RFilter, dst []float64) []float64 {
	if cap(dst) < len(x) {
		dst = make([]float64, len(x))
	}
	dst = dst[:len(x)]
	if len(x) == 0 {
		return dst
	}
	k := min(10, len(x))
	mean, step := x[0], 0.0
	for i := 1; i < k; i++ {
		mean += x[i]
		step += (x[i] - x[i-1]) * (x[i] - x[i-1])
	}
	mean /= float64(k)
	step /= float64(max(1, k-1))
	about := step / (2 - f.Mean)
	prev := x[0]
	for i, v := range x {
		if i > 0 {
			step = f.Step*(v-prev)*(v-prev) + (1-f.Step)*step
		}
		about = f.About*(v-mean)*(v-mean) + (1-f.About)*about
		mean = f.Mean*v + (1-f.Mean)*mean
		prev = v
		dst[i] = rRatio((2-f.Mean)*about, step)
	}
	return dst
}

// rRatio divides the two variance estimates of the R-statistic. Two zeros, from
// a trace that does not move at all, give 1: that is a fault of the sensor, and
// not for this statistic to find.
func rRatio(about, step float64) float64 {
	if step == 0 {
		if about == 0 {
			return 1
		}
		return math.Inf(1)
	}
	return about / step
}

// RCritical returns the value of R [-] below which the R-statistic of steady,
// uncorrelated, normal samples lies with probability level [-], one of 0.50,
// 0.90, 0.95 and 0.99, for the filters 0.2/0.1/0.1, 0.1/0.1/0.1, 0.1/0.05/0.05
// and 0.05/0.05/0.05. Other filters and levels are an error.
//
// Source: Monte Carlo on the recursion of Cao and Rhinehart, 200 000 runs of 400
// samples; the table is testdata/r_statistic_critical_values.csv, good to ±0.005.
func RCritical(f RFilter, level float64) (float64, error) {
	row, ok := map[RFilter][4]float64{
		{0.2, 0.1, 0.1}:    {1.000, 1.313, 1.438, 1.732},
		{0.1, 0.1, 0.1}:    {1.000, 1.351, 1.493, 1.843},
		{0.1, 0.05, 0.05}:  {1.000, 1.228, 1.310, 1.494},
		{0.05, 0.05, 0.05}: {1.000, 1.238, 1.325, 1.521},
	}[f]
	if ok {
		switch level {
		case 0.50:
			return row[0], nil
		case 0.90:
			return row[1], nil
		case 0.95:
			return row[2], nil
		case 0.99:
			return row[3], nil
		}
	}
	return 0, fmt.Errorf("no critical value of R is tabled for filters %v at level %v", f, level)
}
