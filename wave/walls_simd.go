//go:build goexperiment.simd && amd64

package wave

import (
	"math"
	"simd/archsimd"
)

// vectorWalls is plainWalls for four lanes at once, where all of them have the
// usual friction and heat.
func vectorWalls(b *bank) {
	wet := false
	for _, p := range b.pipes {
		if p != nil && p.wet {
			if !p.usual {
				plainWalls(b)
				return
			}
			wet = true
		}
	}
	if !wet {
		return
	}
	cells, walls, linings, viscous := b.cell[1:b.n+1], b.wall[:b.n], b.lining[:b.n], b.viscous[:b.n]
	for i := range viscous {
		for l := range lanes {
			_, t := b.warmth(&cells[i], l)
			viscous[i][l] = viscosity(t)
		}
	}
	gas := b.gas
	absq := [4]int64{1<<63 - 1, 1<<63 - 1, 1<<63 - 1, 1<<63 - 1}
	abs := archsimd.LoadInt64x4(&absq)
	zeroq, oneq, halfq, rfq, rdq, stillq := all(0), all(1), all(0.5), all(gas.rf), all(gas.rd), all(stillFlux)
	zero, one, half, rf, rd, slowest := load(&zeroq), load(&oneq), load(&halfq), load(&rfq), load(&rdq), load(&stillq)
	// Constants of roughFactor, haaland and Manifold.
	const laminar, turbulent, log10of2 = 1. / 2000, 1. / 4000, math.Ln2 / math.Ln10
	lamq, turbq, fourq, scaleq, viscousq, logq := all(laminar), all(turbulent), all(64), all(laminar), all(6.9), all(-1.8*log10of2)
	nuq, leastq, heatq := all(0.07), all(3.66), all(4./prandtl)
	for i := range walls {
		c, w, q := &cells[i], &walls[i], &linings[i]
		rho, g, mu, inv := load(&c.rho), load(&c.gamma), load(&viscous[i]), load(&q.inv)
		r := load(&c.y).MulAdd(rd, rf)
		au := load(&c.u).AsInt64x4().And(abs).AsFloat64x4()
		slow, fast := mu.Mul(inv), rho.MulAdd(au, slowest)
		product := one.Div(slow.Mul(fast))
		drift, re := slow.Mul(slow).Mul(product), fast.Mul(fast).Mul(product)

		// Laminar and turbulent friction, and how much of the second.
		lam := load(&fourq).Mul(drift.Max(load(&lamq)).Min(one))
		share := re.Mul(load(&scaleq)).Sub(one).Max(zero).Min(one)
		s := load(&logq).Mul(vectorLog2(load(&viscousq).MulAdd(drift.Min(load(&turbq)), load(&q.rough))))
		f := one.Div(s.Mul(s)).Sub(lam).MulAdd(share, lam).Mul(load(&q.sand))
		half.Mul(f.MulAdd(inv, load(&q.loss))).Store(&w.drag)

		t := load(&c.temp)
		if gas.constant {
			t = load(&c.p).Div(rho.Mul(r))
		}
		root := re.Sqrt()
		nusselt := load(&nuq).Mul(root).Mul(root.Sqrt()).Max(load(&leastq))
		cp := r.Mul(g).Div(g.Sub(one))
		h := nusselt.Mul(mu).Mul(cp).Mul(load(&heatq)).Mul(inv).Mul(inv)
		h.Mul(load(&q.temp).Sub(t)).Mul(load(&q.heated)).Store(&w.heat)
	}
	archsimd.ClearAVXUpperBits()
}

// vectorLog2 returns the logarithms of x to base 2 for positive, normal x.
//
//	log2 x = k + 2/ln 2·artanh(s),  x = m·2^k,  √½ ≤ m < √2,  s = (m − 1)/(m + 1)
//
// The series of artanh to s¹³ leaves 1e-12 of it.
func vectorLog2(x v4) v4 {
	bits := x.AsUint64x4()
	k := bits.Add(archsimd.LoadUint64x4(&logBitsOf.shift)).ShiftAllRight(52)
	m := bits.Sub(k.ShiftAllLeft(52)).Add(archsimd.LoadUint64x4(&logBitsOf.unit)).AsFloat64x4()
	e := k.Or(archsimd.LoadUint64x4(&logBitsOf.whole)).AsFloat64x4().Sub(load(&logBias))
	one := load(&logOne)
	s := m.Sub(one).Div(m.Add(one))
	z := s.Mul(s)
	p := load(&logSeries[6])
	for i := 5; i >= 0; i-- {
		p = p.MulAdd(z, load(&logSeries[i]))
	}
	return s.MulAdd(p, e)
}

// The constants of vectorLog2, in memory. They are never written.
var (
	logBitsOf = struct{ shift, unit, whole [4]uint64 }{
		shift: fourOf(logUnit - 0x3FE6A09E667F3BCD), // 1 less √½
		unit:  fourOf(logUnit),
		whole: fourOf(0x433 << 52), // 2⁵², whose last bits count ones
	}
	logBias, logOne = all(1<<52 + 1023), all(1)
	logSeries       = [7]quad{all(logTwo), all(logTwo / 3), all(logTwo / 5), all(logTwo / 7), all(logTwo / 9), all(logTwo / 11), all(logTwo / 13)}
)

const (
	logUnit = 1023 << 52   // the bits of 1
	logTwo  = 2 / math.Ln2 // [-]
)

// fourOf returns four equal patterns of bits.
func fourOf(x uint64) [4]uint64 { return [4]uint64{x, x, x, x} }
