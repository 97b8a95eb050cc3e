package passage

import "math"

// roughness of a mesh: see scatter.
const (
	noisy       = 0.04  // scatter over the mean side beyond which a mesh is smoothed [-]
	passLambda  = 0.5   // step of the smoothing that shrinks [-]
	passMu      = -0.53 // step that swells again [-]. Source: Taubin, SIGGRAPH 95: 1/λ + 1/µ slightly above zero
	uneven      = 5     // longest side over shortest beyond which a corner says nothing of scatter [-]
	smoothTurns = 20    // double steps [-]
)

// rings lists the neighbours of every corner along sides.
type rings struct {
	first []int32
	list  []int32
}

func (m *Mesh) rings() rings {
	r := rings{first: make([]int32, len(m.Points)+1)}
	for _, t := range m.Triangles {
		for _, v := range t {
			r.first[v+1]++
		}
	}
	for i := 1; i < len(r.first); i++ {
		r.first[i] += r.first[i-1]
	}
	r.list = make([]int32, r.first[len(r.first)-1])
	next := append([]int32(nil), r.first[:len(r.first)-1]...)
	for _, t := range m.Triangles {
		for k, v := range t {
			r.list[next[v]] = t[(k+1)%3]
			next[v]++
		}
	}
	return r
}

// middle returns the mean of the neighbours of a corner; on a closed mesh each neighbour is listed once.
func (r rings) middle(points []Vec, v int) (Vec, bool) {
	l := r.list[r.first[v]:r.first[v+1]]
	if len(l) == 0 {
		return Vec{}, false
	}
	var sum Vec
	for _, u := range l {
		p := &points[u]
		sum[0] += p[0]
		sum[1] += p[1]
		sum[2] += p[2]
	}
	return sum.Times(1 / float64(len(l))), true
}

// scatter returns the scatter of the surface [m], root of mean square, from the third difference of neighbouring corners' heights: what is
// left of each corner's step to the middle of its neighbours when the like steps of the neighbours are taken off, as a smooth surface has
// nearly the same curvature next door. It also returns the mean length of a side [m]. Corners on sharp edges, where even the third
// difference is large, count little, as the median is taken; corners of long thin triangles, which scanners do not make, are left out.
func (m *Mesh) scatter() (noise, side float64) {
	r := m.rings()
	normals := m.cornerNormals()
	step := make([]float64, len(m.Points))
	for v := range m.Points {
		if mid, ok := r.middle(m.Points, v); ok {
			step[v] = m.Points[v].Minus(mid).Dot(normals[v])
		}
	}
	var all []float64
	sides, count := 0.0, 0
	for v := range m.Points {
		l := r.list[r.first[v]:r.first[v+1]]
		if len(l) < 3 {
			continue
		}
		mean, short, long := 0.0, math.Inf(1), 0.0
		for _, u := range l {
			mean += step[u]
			d := m.Points[u].Minus(m.Points[v]).Norm()
			short, long = min(short, d), max(long, d)
		}
		if long > uneven*short {
			continue
		}
		sides += (short + long) / 2
		count++
		all = append(all, math.Abs(step[v]-mean/float64(len(l))))
	}
	if 4*count < len(m.Points) {
		return 0, 0 // drawn, not scanned
	}
	// For independent heights of scatter s and six neighbours, the difference scatters by 1.35·s; median over scatter is 0.6745.
	const six, normal = 1.35, 0.6745
	return median(all) / normal / six, sides / float64(count)
}

// cornerNormals returns the unit normal at every corner, by the areas round it.
func (m *Mesh) cornerNormals() []Vec {
	out := make([]Vec, len(m.Points))
	for t, v := range m.Triangles {
		n := m.normal(t)
		for _, k := range v {
			out[k] = out[k].Plus(n)
		}
	}
	for i := range out {
		out[i] = out[i].Unit()
	}
	return out
}

// median returns the middle value of x, which it reorders.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	k := len(x) / 2
	lo, hi := 0, len(x)-1
	for lo < hi {
		p := x[(lo+hi)/2]
		i, j := lo, hi
		for i <= j {
			for x[i] < p {
				i++
			}
			for x[j] > p {
				j--
			}
			if i <= j {
				x[i], x[j] = x[j], x[i]
				i++
				j--
			}
		}
		switch {
		case k <= j:
			hi = j
		case k >= i:
			lo = i
		default:
			return x[k]
		}
	}
	return x[k]
}

// smooth takes the scatter off the surface without shrinking it. Source: Taubin, SIGGRAPH 95.
func (m *Mesh) smooth(turns int) {
	r := m.rings()
	next := make([]Vec, len(m.Points))
	for i := range 2 * turns {
		step := passLambda
		if i%2 == 1 {
			step = passMu
		}
		for v, p := range m.Points {
			next[v] = p
			if mid, ok := r.middle(m.Points, v); ok {
				next[v] = p.Plus(mid.Minus(p).Times(step))
			}
		}
		copy(m.Points, next)
	}
}
