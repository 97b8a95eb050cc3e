//go:build goexperiment.simd && amd64

package wave

import "simd/archsimd"

// bestKernel returns the vector kernel where the processor has it.
func bestKernel() kernel {
	if archsimd.X86.AVX2() && archsimd.X86.FMA() {
		return kernel{name: "Go SIMD, 4 lanes (AVX2)", faces: vectorFaces, update: vectorUpdate, walls: vectorWalls}
	}
	return plain
}

// v4 is one number of four pipes.
type v4 = archsimd.Float64x4

// load loads a quad.
func load(q *quad) v4 { return archsimd.LoadFloat64x4(q) }

// vectorFaces is plainFaces for four lanes at once.
func vectorFaces(b *bank, dt float64, first bool) {
	n := b.n
	var hq quad
	for l := range hq {
		hq[l] = dt * b.invDx[l] // times half a slope: the same as dt/2 times a slope
	}
	hdtq, halfq, oneq, keepq, slopeq := all(0.5*dt), all(0.5), all(1), all(keep), all(1)
	if first {
		slopeq = quad{}
	}
	var zeroq quad
	absq := [4]int64{1<<63 - 1, 1<<63 - 1, 1<<63 - 1, 1<<63 - 1}
	h, hdt, half, one, kp := load(&hq), load(&hdtq), load(&halfq), load(&oneq), load(&keepq)
	zero, slope := load(&zeroq), load(&slopeq)
	abs := archsimd.LoadInt64x4(&absq)

	cells, walls, faces := b.cell[:n+2], b.wall[:n], b.face[:n+1]
	g0, c := &cells[0], &cells[1]
	r1, u1, p1, y1 := load(&c.rho), load(&c.u), load(&c.p), load(&c.y)
	dr, du, dp, dy := r1.Sub(load(&g0.rho)), u1.Sub(load(&g0.u)), p1.Sub(load(&g0.p)), y1.Sub(load(&g0.y))
	var lr, lu, lp, ly, lb, la v4 // right face of the cell before
	for i := range walls {
		c, next, w := &cells[i+1], &cells[i+2], &walls[i]
		r2, u2, p2, y2 := load(&next.rho), load(&next.u), load(&next.p), load(&next.y)
		// Half slopes: half of min(2a, 2b, (a+b)/2) is min(a, b, (a+b)/4).
		er := r2.Sub(r1)
		m := dr.Add(er).Mul(half).Mul(half)
		sr := dr.Min(er).Min(m).Max(zero).Add(dr.Max(er).Max(m).Min(zero)).Mul(slope)
		dr = er
		eu := u2.Sub(u1)
		m = du.Add(eu).Mul(half).Mul(half)
		su := du.Min(eu).Min(m).Max(zero).Add(du.Max(eu).Max(m).Min(zero)).Mul(slope)
		du = eu
		ep := p2.Sub(p1)
		m = dp.Add(ep).Mul(half).Mul(half)
		sp := dp.Min(ep).Min(m).Max(zero).Add(dp.Max(ep).Max(m).Min(zero)).Mul(slope)
		dp = ep
		ey := y2.Sub(y1)
		m = dy.Add(ey).Mul(half).Mul(half)
		sy := dy.Min(ey).Min(m).Max(zero).Add(dy.Max(ey).Max(m).Min(zero)).Mul(slope)
		dy = ey

		g := load(&c.gamma)
		au := u1.AsInt64x4().And(abs).AsFloat64x4()
		cu := load(&w.drag).Mul(au).Mul(u1)
		wu := hdt.Mul(load(&w.widen)).Mul(u1)
		gp := g.Mul(p1)
		rt := h.Mul(u1.MulAdd(sr, r1.Mul(su))).Add(wu.Mul(r1))
		ut := h.Mul(u1.MulAdd(su, sp.Div(r1))).Add(hdt.Mul(cu))
		src := r1.Mul(cu).MulAdd(u1, load(&w.heat)).Mul(g.Sub(one)).Mul(hdt)
		pt := h.Mul(u1.MulAdd(sp, gp.Mul(su))).Add(wu.Mul(gp)).Sub(src)
		yt := h.Mul(u1).Mul(sy)
		rm, um, pm, ym := r1.Sub(rt), u1.Sub(ut), p1.Sub(pt), y1.Sub(yt)

		ar, ap := sr.AsInt64x4().And(abs).AsFloat64x4(), sp.AsInt64x4().And(abs).AsFloat64x4()
		good := rm.Sub(ar).GreaterEqual(kp.Mul(r1)).And(pm.Sub(ap).GreaterEqual(kp.Mul(p1)))
		rm, um, pm, ym = rm.Merge(r1, good), um.Merge(u1, good), pm.Merge(p1, good), ym.Merge(y1, good)
		sr, su, sp, sy = sr.Masked(good), su.Masked(good), sp.Masked(good), sy.Masked(good)
		pm.Store(&w.mid)
		kr, ku, kq, ky := rm.Sub(sr), um.Sub(su), pm.Sub(sp), ym.Sub(sy)
		kb, ka := load(&c.beta), load(&c.sound)
		if i == 0 {
			e := &b.ends[0]
			kr.Store(&e.rho)
			ku.Store(&e.u)
			kq.Store(&e.p)
			ky.Store(&e.y)
		} else {
			sl := lu.Sub(la).Min(ku.Sub(ka))
			sr := lu.Add(la).Max(ku.Add(ka))
			ml := lr.Mul(sl.Sub(lu))
			mr := kr.Mul(sr.Sub(ku))
			star := kq.Sub(lp).Add(ml.Mul(lu).Sub(mr.Mul(ku))).Div(ml.Sub(mr))
			isL := star.GreaterEqual(zero)
			xr, xu, xp, xb := lr.Merge(kr, isL), lu.Merge(ku, isL), lp.Merge(kq, isL), lb.Merge(kb, isL)
			s, mm := sl.Merge(sr, isL), ml.Merge(mr, isL)
			xy := ly.Merge(ky, isL)
			cc := sl.Min(zero).Merge(sr.Max(zero), isL)
			dv := star.Sub(xu)
			ps := mm.MulAdd(dv, xp)
			mom := xr.Mul(xu)
			ek := xb.MulAdd(xp, half.Mul(mom).Mul(xu))
			q := cc.Div(s.Sub(star))
			d := q.Mul(dv)
			f := &faces[i]
			fm := xr.MulAdd(d, mom)
			fm.Store(&f.flux[0])
			mom.MulAdd(xu, xp).Add(s.Mul(xr).Mul(d)).Store(&f.flux[1])
			xu.Mul(ek.Add(xp)).Add(d.Mul(ek)).Add(q.Mul(ps.Mul(star).Sub(xp.Mul(xu)))).Store(&f.flux[2])
			fm.Mul(xy).Store(&f.flux[3])
		}
		lr, lu, lp, ly, lb, la = rm.Add(sr), um.Add(su), pm.Add(sp), ym.Add(sy), kb, ka
		r1, u1, p1, y1 = r2, u2, p2, y2
	}
	e := &b.ends[1]
	lr.Store(&e.rho)
	lu.Store(&e.u)
	lp.Store(&e.p)
	ly.Store(&e.y)
	archsimd.ClearAVXUpperBits()
}

// vectorUpdate is plainUpdate for four lanes at once.
func vectorUpdate(b *bank, dt float64) {
	n := b.n
	gas := b.gas
	dtq, halfq, oneq, gm1q, gq := all(dt), all(0.5), all(1), all(gas.gamma-1), all(gas.gamma)
	rfq, rdq, shiftq, scaleq, topq := all(gas.rf), all(gas.rd), all(gasShift), all(gasScale), all(gasTop)
	var cfq, cdq [gasDegree + 1]quad
	if !gas.constant {
		for k := range cfq {
			cfq[k], cdq[k] = all(gas.cf[k]), all(gas.cd[k])
		}
	}
	var zeroq quad
	absq := [4]int64{1<<63 - 1, 1<<63 - 1, 1<<63 - 1, 1<<63 - 1}
	dtv, half, one, gm1, gam := load(&dtq), load(&halfq), load(&oneq), load(&gm1q), load(&gq)
	zero := load(&zeroq)
	abs := archsimd.LoadInt64x4(&absq)
	ok := one.Greater(zero)
	speed := zero
	cells, walls, faces, now, to := b.cell[:n+2], b.wall[:n], b.face[:n+1], b.now[:n], b.next[:n]
	f0 := &faces[0]
	la := load(&f0.area)
	lf0, lf1, lf2, lf3 := load(&f0.flux[0]), load(&f0.flux[1]), load(&f0.flux[2]), load(&f0.flux[3])
	for i := range walls {
		c, w, old, nw, f := &cells[i+1], &walls[i], &now[i], &to[i], &faces[i+1]
		k := dtv.Mul(load(&w.invVol))
		ra := load(&f.area)
		rf0, rf1, rf2, rf3 := load(&f.flux[0]), load(&f.flux[1]), load(&f.flux[2]), load(&f.flux[3])
		al, ar := k.Mul(la), k.Mul(ra)
		pm := load(&w.mid)
		rho := load(&old[0]).Add(al.Mul(lf0).Sub(ar.Mul(rf0)))
		mom := load(&old[1]).Add(al.Mul(lf1.Sub(pm)).Sub(ar.Mul(rf1.Sub(pm))))
		ene := load(&old[2]).Add(al.Mul(lf2).Sub(ar.Mul(rf2))).Add(dtv.Mul(load(&w.heat)))
		bur := load(&old[3]).Add(al.Mul(lf3).Sub(ar.Mul(rf3)))
		au := load(&c.u).AsInt64x4().And(abs).AsFloat64x4()
		mom = mom.Div(dtv.Mul(load(&w.drag)).MulAdd(au, one))
		rho.Store(&nw[0])
		mom.Store(&nw[1])
		ene.Store(&nw[2])
		bur.Store(&nw[3])
		inv := one.Div(rho)
		u, y := mom.Mul(inv), bur.Mul(inv)
		inner := ene.Sub(half.Mul(mom).Mul(u))
		var p, g v4
		if gas.constant {
			p, g = gm1.Mul(inner), gam
		} else {
			// One Newton step for the temperature, as in Gas.close.
			near := load(&c.temp)
			inv1 := one.Div(near.Add(load(&shiftq)))
			scaled := load(&scaleq).Mul(inv1)
			tau := load(&topq).Sub(scaled)
			mean := y.MulAdd(load(&cdq[gasDegree]), load(&cfq[gasDegree]))
			der := mean
			mean = mean.MulAdd(tau, y.MulAdd(load(&cdq[gasDegree-1]), load(&cfq[gasDegree-1])))
			for j := gasDegree - 2; j >= 0; j-- {
				der = der.MulAdd(tau, mean)
				mean = mean.MulAdd(tau, y.MulAdd(load(&cdq[j]), load(&cfq[j])))
			}
			cv := der.Mul(near).MulAdd(scaled.Mul(inv1), mean)
			icv := one.Div(cv)
			e := inner.Mul(inv)
			t := e.Sub(mean.Mul(near)).MulAdd(icv, near)
			r := y.MulAdd(load(&rdq), load(&rfq))
			rt := r.Mul(t)
			p = rho.Mul(rt)
			g = r.MulAdd(icv, one)
			e.Div(rt).Store(&c.beta)
			g.Store(&c.gamma)
			t.Store(&c.temp)
		}
		ok = ok.And(rho.Greater(zero)).And(p.Greater(zero))
		a := g.Mul(p).Mul(inv).Max(zero).Sqrt()
		rho.Store(&c.rho)
		u.Store(&c.u)
		p.Store(&c.p)
		y.Store(&c.y)
		a.Store(&c.sound)
		speed = u.AsInt64x4().And(abs).AsFloat64x4().Add(a).Max(speed)
		la, lf0, lf1, lf2, lf3 = ra, rf0, rf1, rf2, rf3
	}
	one.Masked(ok).Store(&b.least)
	speed.Mul(load(&b.invDx)).Store(&b.speed)
	archsimd.ClearAVXUpperBits()
}
