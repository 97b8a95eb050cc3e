package engine

import (
	"context"
	"errors"
	"math"
	"reflect"
	"testing"

	"runnel/job"
)

// The answer does not depend on how many workers there are, to the last bit.
func TestPullDeterministic(t *testing.T) {
	e := single(t)
	speeds := rpm(2500, 5500, 500) // three chains
	var all [][]Point
	for _, w := range []int{1, 2, 3} {
		ticks := 0
		p, err := Pull(t.Context(), e, speeds, Options{Mesh: sketchMesh, Workers: w}, func(done, total int) {
			ticks++
			if done != ticks || total != len(speeds) {
				t.Errorf("progress %d of %d after %d", done, total, ticks)
			}
		})
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, p)
	}
	if !reflect.DeepEqual(all[0], all[1]) || !reflect.DeepEqual(all[0], all[2]) {
		t.Error("the pull depends on the number of workers")
	}
}

// The order of the speeds asked for does not change a point.
func TestPullOrder(t *testing.T) {
	e := single(t)
	a, err := Pull(t.Context(), e, []float64{50, 80}, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	b, err := Pull(t.Context(), e, []float64{80, 50}, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(a[0], b[1]) || !reflect.DeepEqual(a[1], b[0]) {
		t.Error("points depend on the order of the speeds")
	}
}

// Mass over a settled cycle: what cylinders, pipes and plenum gain is what rooms lost and fuel brought, to 1e-6 of the air drawn, in every
// layout of inlet and outlet. And Drift says so when it is not: with a gram put into a cylinder past the books it is that gram over the
// air drawn.
func TestMassBalance(t *testing.T) {
	open := longPassage(0.3)
	open.Outlet = job.OutletCard{Direct: true}
	for _, c := range []struct {
		name string
		e    *Engine
	}{{"six", six(t)}, {"one throttle a cylinder", engineOf(t, ramTubes(0.1, 0.03))}, {"two plenums, exhaust to the room", engineOf(t, open)}} {
		m, err := c.e.build(CoarseMesh)
		if err != nil {
			t.Fatal(err)
		}
		m.start()
		m.set(4500. / 60)
		for range 4 {
			if err := m.cycle(); err != nil {
				t.Fatal(err)
			}
		}
		d := m.point().Drift
		t.Logf("%s: mass balance of a cycle %.3g of the air drawn", c.name, d)
		if !(d < 1e-6) {
			t.Errorf("%s: mass balance of a cycle %.3g of the air drawn", c.name, d)
		}
		const spoil = 1e-3
		m.cyl[0].burned += spoil
		drawn := 0.0
		for _, a := range m.drawn {
			drawn += a
		}
		near(t, "drift with a gram too much", m.point().Drift, spoil/drawn, 1e-5)
	}
}

// In a settled cycle the engine stores nothing: what the cylinders draw, with its fuel, is what they give, within the settling tolerance.
func TestCycleBalance(t *testing.T) {
	m, err := six(t).build(0.010)
	if err != nil {
		t.Fatal(err)
	}
	m.start()
	m.set(5000. / 60)
	p, err := m.settle(context.Background(), Options{Tolerance: 2e-4}.filled())
	if err != nil || !p.Settled {
		t.Fatal(err, p.Settled)
	}
	for i, c := range m.cyl {
		near(t, "given over drawn and fuel", m.given[i]/(m.drawn[i]+c.sum.fuel), 1, 5e-3)
	}
}

// Nothing is allocated in a step.
func TestStepAllocs(t *testing.T) {
	m, err := six(t).build(CoarseMesh)
	if err != nil {
		t.Fatal(err)
	}
	m.start()
	m.set(75)
	if err := m.cycle(); err != nil {
		t.Fatal(err)
	}
	m.net.SetTime(0)
	if n := testing.AllocsPerRun(200, func() {
		if _, err := m.net.Step(); err != nil {
			t.Fatal(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations in a step", n)
	}
}

// A runner that flows badly starves its own cylinder at speed, and hardly the others.
func TestUnequalRunners(t *testing.T) {
	e := six(t)
	p, err := Pull(t.Context(), e, []float64{100}, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	q, err := Pull(t.Context(), e.With(func(e *Engine) { e.Inlet.Runners[2].Loss = 5 }), []float64{100}, Options{Mesh: CoarseMesh}, nil)
	if err != nil {
		t.Fatal(err)
	}
	for i := range p[0].Cylinders {
		d := q[0].Cylinders[i].VE/p[0].Cylinders[i].VE - 1
		if i == 2 && d > -0.10 || i != 2 && math.Abs(d) > 0.03 {
			t.Errorf("cylinder %d: VE changed by %+.2f %%", i+1, 100*d)
		}
	}
}

// Mesh convergence of the whole engine: halving the mesh from 30 to 15 mm changes more than halving it again, and at the usual 15 mm
// torque is within 1 % of that at 7.5 mm.
func TestMeshConvergence(t *testing.T) {
	if testing.Short() {
		t.Skip("three meshes of a six-cylinder engine")
	}
	e := six(t)
	w := &Warm{} // each mesh starts from the answer of the one before
	var torque [3][]float64
	for k, mesh := range []float64{0.030, 0.015, 0.0075} {
		p, err := Pull(t.Context(), e, []float64{3500. / 60, 5500. / 60}, Options{Mesh: mesh, Tolerance: 2e-4, Warm: w}, nil)
		if err != nil {
			t.Fatal(err)
		}
		torque[k] = []float64{p[0].Torque, p[1].Torque}
	}
	for i := range torque[0] {
		a, b := torque[0][i]-torque[2][i], torque[1][i]-torque[2][i]
		t.Logf("torque %.2f %.2f %.2f N·m", torque[0][i], torque[1][i], torque[2][i])
		if math.Abs(b)/torque[2][i] > 0.01 || math.Abs(b) > max(math.Abs(a), 0.003*torque[2][i]) {
			t.Errorf("torque over the mesh: %v %v %v", torque[0][i], torque[1][i], torque[2][i])
		}
	}
}

// Refusals: each names what is wrong.
func TestRefusals(t *testing.T) {
	base := sixCard()
	for _, c := range []struct {
		name   string
		change func(*job.Engine)
		want   error
	}{
		{"firing order", func(c *job.Engine) { c.FiringOrder = []int{1, 2, 3, 4, 5, 5} }, ErrEngine},
		{"short order", func(c *job.Engine) { c.FiringOrder = []int{1, 2} }, ErrEngine},
		{"no cylinders", func(c *job.Engine) { c.Cylinders, c.FiringOrder = 0, nil }, ErrEngine},
		{"no cam", func(c *job.Engine) { c.Cam = job.CamCard{} }, ErrCam},
		{"fuel", func(c *job.Engine) { c.Fuel.Name = "coal" }, ErrFuel},
		{"no runner", func(c *job.Engine) { c.Inlet.RunnerLength = 0 }, ErrEngine},
		{"boost", func(c *job.Engine) { c.Air.Pressure = 1.6e5 }, ErrForced},
		{"short rod", func(c *job.Engine) { c.Rod = 0.02 }, ErrEngine},
		{"runner lengths", func(c *job.Engine) { c.Inlet.RunnerLengths = []string{"1 mm"} }, ErrEngine},
	} {
		card := base
		c.change(&card)
		if _, err := FromCard(card, Flowed{}); !errors.Is(err, c.want) {
			t.Errorf("%s: %v, want %v", c.name, err, c.want)
		}
	}
	for _, n := range [][]float64{nil, {0}, {math.NaN()}, {1e4}} {
		if _, err := Pull(t.Context(), six(t), n, Options{}, nil); !errors.Is(err, ErrSpeeds) {
			t.Errorf("speeds %v: %v", n, err)
		}
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := Pull(ctx, six(t), []float64{50}, Options{}, nil); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
}

// A warm start gives the same answer within the settling tolerance, in fewer cycles.
func TestWarm(t *testing.T) {
	e := six(t)
	speeds := rpm(3000, 5000, 1000)
	w := &Warm{}
	a, err := Pull(t.Context(), e, speeds, Options{Mesh: CoarseMesh, Warm: w, Tolerance: 3e-3}, nil)
	if err != nil {
		t.Fatal(err)
	}
	f := e.With(RunnerLonger(0.02))
	b, err := Pull(t.Context(), f, speeds, Options{Mesh: CoarseMesh, Warm: w, Tolerance: 3e-3}, nil)
	if err != nil {
		t.Fatal(err)
	}
	c, err := Pull(t.Context(), f, speeds, Options{Mesh: CoarseMesh, Tolerance: 3e-3}, nil)
	if err != nil {
		t.Fatal(err)
	}
	warm, cold := 0, 0
	for i := range b {
		near(t, "torque", b[i].Torque, c[i].Torque, 6e-3)
		warm += b[i].Cycles
		cold += c[i].Cycles
	}
	if warm > cold || reflect.DeepEqual(a, b) {
		t.Errorf("%d warm, %d cold cycles", warm, cold)
	}
}
