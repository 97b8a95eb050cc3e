package measure

import "math/rand/v2"

// LatinHypercube returns n points of dims coordinates in 0 … 1 [-], one in each of
// n equal slices of every coordinate. Turn a coordinate into a quantity by the
// quantile function of its distribution. It panics when n or dims is negative.
//
// Source: McKay, Beckman and Conover, Technometrics 21 (1979) 239.
func LatinHypercube(rng *rand.Rand, n, dims int) [][]float64 {
	if n < 0 || dims < 0 {
		panic("measure: a Latin hypercube of negative size")
	}
	flat := make([]float64, n*dims)
	points := make([][]float64, n)
	for i := range points {
		points[i] = flat[i*dims : (i+1)*dims : (i+1)*dims]
	}
	for d := range dims {
		for i, slice := range rng.Perm(n) {
			points[i][d] = (float64(slice) + rng.Float64()) / float64(n)
		}
	}
	return points
}
