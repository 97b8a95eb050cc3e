package measure

import "math"

// PooledSD returns the standard deviation within groups [unit of x], pooled over
// groups of any size, and its degrees of freedom [-]. Means of one level as values
// give the level above, so that it serves nested studies of any depth.
//
//	s² = ΣS_i/Σ(n_i − 1)
//
// Source: NIST/SEMATECH e-Handbook, 2.4.4 and 2.6.1, levels of a nested study.
// Errors: ErrTooFew when no group has two values, ErrNotFinite.
func PooledSD(groups [][]float64) (s, dof float64, err error) {
	ss := 0.0
	for _, g := range groups {
		if err := finite("pooled values", g); err != nil {
			return 0, 0, err
		}
		if len(g) > 1 {
			ss += SumSquares(g)
			dof += float64(len(g) - 1)
		}
	}
	if err := atLeast("repeats to pool", int(dof), 1); err != nil {
		return 0, 0, err
	}
	return math.Sqrt(ss / dof), dof, nil
}

// PoolSDs returns one standard deviation [unit of sd] from several, of dof degrees
// of freedom [-] each, and the sum of these.
//
//	s² = Σν_i·s_i²/Σν_i
//
// Source: as PooledSD. Errors: ErrTooFew for none, ErrNotFinite.
func PoolSDs(sd, dof []float64) (s, sum float64, err error) {
	if len(sd) != len(dof) {
		panic("measure: deviations and degrees of freedom differ in number")
	}
	if err := finite("deviations to pool", sd); err != nil {
		return 0, 0, err
	}
	v := 0.0
	for i := range sd {
		v += dof[i] * sd[i] * sd[i]
		sum += dof[i]
	}
	if err := atLeast("degrees of freedom to pool", int(sum), 1); err != nil {
		return 0, 0, err
	}
	return math.Sqrt(v / sum), sum, nil
}
