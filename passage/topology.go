package passage

// open marks a side of a triangle without a neighbour.
const open = int32(-1)

// twins returns for every side (three a triangle: corner k to k+1) the side of the neighbour along the same edge, or open. odd counts
// the edges that more than two triangles share, and at is one of them.
func (m *Mesh) twins() (twin []int32, odd int, at Vec) {
	n := len(m.Triangles)
	twin = make([]int32, 3*n)
	first := make([]int32, len(m.Points)+1)
	low := func(e int) (lo, hi int32) {
		t, k := e/3, e%3
		v, w := m.Triangles[t][k], m.Triangles[t][(k+1)%3]
		if v < w {
			return v, w
		}
		return w, v
	}
	for e := range twin {
		v, _ := low(e)
		first[v+1]++
		twin[e] = open
	}
	for i := 1; i < len(first); i++ {
		first[i] += first[i-1]
	}
	next := append([]int32(nil), first...)
	list := make([]int32, 3*n)
	for e := range twin {
		v, _ := low(e)
		list[next[v]] = int32(e)
		next[v]++
	}
	// Sides of one lower corner: few, save round the hub of a fan, where a small table keyed by the upper corner is used.
	seen := map[int32]int32{}
	for v := range len(m.Points) {
		group := list[first[v]:first[v+1]]
		if len(group) > 24 {
			clear(seen)
			for _, e := range group {
				_, hi := low(int(e))
				f, ok := seen[hi]
				if !ok {
					seen[hi] = e
					continue
				}
				odd, at = m.join(twin, e, f, odd, at)
			}
			continue
		}
		for i, e := range group {
			_, hi := low(int(e))
			for _, f := range group[:i] {
				if _, other := low(int(f)); other == hi {
					odd, at = m.join(twin, e, f, odd, at)
					break
				}
			}
		}
	}
	for e, f := range twin {
		if f == tangled {
			twin[e] = open
		}
	}
	return twin, odd, at
}

// tangled marks a side along an edge of more than two triangles while twins works.
const tangled = int32(-2)

// join makes e and f neighbours, or marks both and their neighbours as tangled when f has one already.
func (m *Mesh) join(twin []int32, e, f int32, odd int, at Vec) (int, Vec) {
	switch twin[f] {
	case open:
		twin[e], twin[f] = f, e
		return odd, at
	case tangled:
		twin[e] = tangled
		return odd, at
	}
	g := twin[f]
	twin[e], twin[f], twin[g] = tangled, tangled, tangled
	return odd + 1, m.Points[m.Triangles[f/3][f%3]]
}

// shells numbers the connected parts of the mesh, one number a triangle, and turns triangles over so that neighbours run alike and each
// part has a volume above zero. It returns how many were turned; twisted is a triangle that cannot be made to fit, or −1.
func (m *Mesh) shells(twin []int32) (shell []int32, count, turned, twisted int) {
	n := len(m.Triangles)
	shell = make([]int32, n)
	for i := range shell {
		shell[i] = open
	}
	flip := make([]bool, n)
	twisted = -1
	var stack []int32
	for seed := range n {
		if shell[seed] != open {
			continue
		}
		id := int32(count)
		count++
		shell[seed] = id
		stack = append(stack[:0], int32(seed))
		for len(stack) > 0 {
			t := stack[len(stack)-1]
			stack = stack[:len(stack)-1]
			for k := range int32(3) {
				f := twin[3*t+k]
				if f < 0 {
					continue
				}
				u := f / 3
				// Along a shared edge neighbours run in opposite senses.
				same := m.Triangles[t][k] == m.Triangles[u][f%3]
				want := flip[t] != same
				if shell[u] == open {
					shell[u], flip[u] = id, want
					stack = append(stack, u)
				} else if flip[u] != want && twisted < 0 {
					twisted = int(u)
				}
			}
		}
	}
	for t, f := range flip {
		if f {
			m.turn(t)
			turned++
		}
	}
	turned = m.outward(shell, count, turned, flip)
	return shell, count, turned, twisted
}

func (m *Mesh) turn(t int) {
	v := &m.Triangles[t]
	v[1], v[2] = v[2], v[1]
}

// outward turns whole parts over whose volume is below zero and returns the number of triangles that differ from the file.
func (m *Mesh) outward(shell []int32, count, turned int, flip []bool) int {
	volume := make([]float64, count)
	o := m.Points[0]
	for t := range m.Triangles {
		a, b, c := m.corners(t)
		a, b, c = a.Minus(o), b.Minus(o), c.Minus(o)
		volume[shell[t]] += a.Dot(b.Cross(c))
	}
	for t := range m.Triangles {
		if volume[shell[t]] >= 0 {
			continue
		}
		m.turn(t)
		if flip[t] {
			turned--
		} else {
			turned++
		}
	}
	return turned
}

// rims returns the closed chains of open sides, each as the corners along it in the sense of the triangles' sides.
func (m *Mesh) rims(twin []int32) [][]int32 {
	from := map[int32][]int32{} // corner → open sides that begin there
	total := 0
	for e, f := range twin {
		if f == open {
			v := m.Triangles[e/3][e%3]
			from[v] = append(from[v], int32(e))
			total++
		}
	}
	var out [][]int32
	used := make(map[int32]bool, total)
	for e, f := range twin {
		if f != open || used[int32(e)] {
			continue
		}
		var rim []int32
		for s := int32(e); s >= 0 && !used[s]; {
			used[s] = true
			rim = append(rim, m.Triangles[s/3][s%3])
			end := m.Triangles[s/3][(s%3+1)%3]
			s = -1
			for _, c := range from[end] {
				if !used[c] {
					s = c
					break
				}
			}
		}
		if len(rim) >= 3 {
			out = append(out, rim)
		}
	}
	return out
}
