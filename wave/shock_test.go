package wave

import (
	"math"
	"testing"

	"runnel/internal/tabletest"
	"runnel/wave/riemann"
)

// tube runs a shock tube of unit length and area and returns its pipe. Its
// ends are open to rooms with the gas of that end, or closed where it stands.
func tube(t testing.TB, gas *Gas, cells int, end float64, start func(x float64) Fill) (*Pipe, *Network) {
	t.Helper()
	b := NewBuilder(gas)
	p := b.PipeWith(Duct{Name: "tube", Length: 1, Area: Uniform(1), Cells: cells}, start)
	b.Join(&through{p.Left()}, &through{p.Right()})
	net, err := b.Build()
	if err != nil {
		t.Fatal(err)
	}
	if err := net.Advance(end); err != nil {
		t.Fatal(err)
	}
	return p, net
}

// through is an end that lets waves out: the gas beyond is that of the last cell.
type through struct{ pipe End }

func (e *through) Ends() []End                       { return []End{e.pipe} }
func (e *through) Vessels() []Vessel                 { return nil }
func (e *through) Solve(ports []*Port, _, _ float64) { ports[0].SetInner() }
func (e *through) Commit(_ []*Port, _ float64)       {}
func (e *through) Area() float64                     { return 0 }

// shockCase is one exact profile of riemann_profiles.csv.
type shockCase struct {
	name        string
	gamma       float64
	left, right riemann.State
	x0, end     float64
	rho         []float64 // at 200 cell centres
}

// shockCases reads the profiles and the states they start from.
func shockCases(t testing.TB) []shockCase {
	t.Helper()
	var out []shockCase
	for _, r := range tabletest.Read(t, "testdata/riemann_exact.csv", 1) {
		g := r.Num(t, "gamma")
		out = append(out, shockCase{
			name: r["case"], gamma: g, x0: r.Num(t, "x0"), end: r.Num(t, "t_profile"),
			left:  riemann.State{Rho: r.Num(t, "rhoL"), U: r.Num(t, "uL"), P: r.Num(t, "pL"), Gamma: g},
			right: riemann.State{Rho: r.Num(t, "rhoR"), U: r.Num(t, "uR"), P: r.Num(t, "pR"), Gamma: g},
		})
	}
	at := map[string]int{}
	for i, c := range out {
		at[c.name] = i
	}
	for _, r := range tabletest.Read(t, "testdata/riemann_profiles.csv", 1) {
		c := &out[at[r["case"]]]
		c.rho = append(c.rho, r.Num(t, "rho"))
	}
	return out
}

// errorsL1 returns the L1 errors of density, velocity and pressure on n cells,
// each over the range of the exact profile.
func (c *shockCase) errorsL1(t testing.TB, n int) (e [3]float64, net *Network) {
	t.Helper()
	p, net := tube(t, ConstantGas(c.gamma, 1), n, c.end, c.start)
	exact, err := riemann.Exact(c.left, c.right)
	if err != nil {
		t.Fatal(err)
	}
	// The exact cell mean, by sampling within the cell.
	const sub = 40
	lo, hi := [3]float64{}, [3]float64{}
	for i := range n {
		var mean [3]float64
		for k := range sub {
			x := (float64(i) + (float64(k)+0.5)/sub) / float64(n)
			w := exact.Sample((x - c.x0) / c.end)
			for q, v := range [3]float64{w.Rho, w.U, w.P} {
				mean[q] += v / sub
				if i == 0 && k == 0 {
					lo[q], hi[q] = v, v
				}
				lo[q], hi[q] = min(lo[q], v), max(hi[q], v)
			}
		}
		f := p.Cell(i)
		for q, v := range [3]float64{f.Rho, f.U, f.P} {
			e[q] += math.Abs(v-mean[q]) / float64(n)
		}
	}
	for q := range e {
		if hi[q] > lo[q] {
			e[q] /= hi[q] - lo[q]
		}
	}
	return e, net
}

// againstFile returns the L1 error of density on 200 cells against the sampled
// profile of the file, over its range.
func (c *shockCase) againstFile(t testing.TB) float64 {
	t.Helper()
	gas := ConstantGas(c.gamma, 1)
	p, _ := tube(t, gas, len(c.rho), c.end, c.start)
	sum, lo, hi := 0.0, math.Inf(1), 0.0
	for i, w := range c.rho {
		sum += math.Abs(p.Cell(i).Rho-w) / float64(len(c.rho))
		lo, hi = min(lo, w), max(hi, w)
	}
	return sum / (hi - lo)
}

// start returns the gas before the diaphragm bursts, for R = 1 J/(kg K).
func (c *shockCase) start(x float64) Fill {
	s := c.right
	if x < c.x0 {
		s = c.left
	}
	return Fill{P: s.P, U: s.U, T: s.P / s.Rho}
}

// contactKept checks that a contact at rest stays as it is.
func (c *shockCase) contactKept(t *testing.T) {
	t.Helper()
	const n = 100
	p, _ := tube(t, ConstantGas(c.gamma, 1), n, c.end, c.start)
	for i := range n {
		f := p.Cell(i)
		w := c.start(f.X)
		if f.U != 0 || math.Abs(f.Rho*w.T/w.P-1) > 1e-15 || math.Abs(f.P/w.P-1) > 1e-15 {
			t.Errorf("%s: cell %d of a contact at rest: %+v", c.name, i, f)
		}
	}
}

// TestShockTubesConverge: for every Riemann problem of riemann_exact.csv (among
// them Toro's tests 1–5) the L1 error to the exact cell means falls as the mesh
// is refined. A captured contact spreads over a number of cells that grows as N^(1/3)
// in a second-order scheme, so the order of density tends to 2/3 where there is
// a contact (J. W. Banks, T. Aslam & W. J. Rider, J. Comput. Phys. 227 (2008)
// 6985) and to 1 where there is not; 0.55 is asked over a factor of four.
func TestShockTubesConverge(t *testing.T) {
	for _, c := range shockCases(t) {
		if c.left.P == c.right.P && c.left.U == 0 && c.right.U == 0 {
			c.contactKept(t)
			continue
		}
		var err [3][3]float64
		for i, n := range []int{100, 200, 400} {
			err[i], _ = c.errorsL1(t, n)
		}
		order := math.Log2(err[0][0]/err[2][0]) / 2
		file := c.againstFile(t)
		t.Logf("%-9s L1 ρ %.5f %.5f %.5f (order %.2f)  u %.5f %.5f %.5f  p %.5f %.5f %.5f  file %.5f", c.name,
			err[0][0], err[1][0], err[2][0], order, err[0][1], err[1][1], err[2][1], err[0][2], err[1][2], err[2][2], file)
		if order < 0.55 || err[1][0] > err[0][0] || err[2][0] > err[1][0] {
			t.Errorf("%s: order %.2f in density, want ≥ 0.55", c.name, order)
		}
		// The file's points are cell centres, not means: two cells at each
		// jump may differ by half the jump.
		if file > err[1][0]+3.0/200 {
			t.Errorf("%s: L1 to the file's profile %.4f", c.name, file)
		}
	}
}
