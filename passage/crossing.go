package passage

import (
	"cmp"
	"slices"
)

// selfCrossing looks for two sides of a closed outline that cross, and returns the numbers of their first points and where.
// Sides are swept in order of their least x, so that an outline of n points costs about n·log n.
func selfCrossing(p []Point) (i, j int, at Point, bad bool) {
	n := len(p)
	order := make([]int, n)
	lo := func(k int) float64 { return min(p[k][0], p[(k+1)%n][0]) }
	hi := func(k int) float64 { return max(p[k][0], p[(k+1)%n][0]) }
	for k := range order {
		order[k] = k
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(lo(a), lo(b)) })
	var live []int
	for _, k := range order {
		keep := live[:0]
		for _, l := range live {
			if hi(l) < lo(k) {
				continue
			}
			keep = append(keep, l)
			if gap := (k - l + n) % n; gap <= 1 || gap == n-1 {
				continue
			}
			if q, ok := cross(p[k], p[(k+1)%n], p[l], p[(l+1)%n]); ok {
				return min(k, l), max(k, l), q, true
			}
		}
		live = append(live[:len(keep)], k)
	}
	return 0, 0, Point{}, false
}

// cross returns where the segments ab and cd properly cross.
func cross(a, b, c, d Point) (Point, bool) {
	turn := func(p, q, r Point) float64 { return (q[0]-p[0])*(r[1]-p[1]) - (q[1]-p[1])*(r[0]-p[0]) }
	t1, t2, t3, t4 := turn(a, b, c), turn(a, b, d), turn(c, d, a), turn(c, d, b)
	if !((t1 > 0) != (t2 > 0) && (t3 > 0) != (t4 > 0)) || t1 == 0 || t2 == 0 || t3 == 0 || t4 == 0 {
		return Point{}, false
	}
	s := t3 / (t3 - t4)
	return Point{a[0] + s*(b[0]-a[0]), a[1] + s*(b[1]-a[1])}, true
}
