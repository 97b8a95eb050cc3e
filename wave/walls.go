package wave

import "math"

// wallEvery is the number of steps between two updates of friction factor and
// wall heat, which follow the flow much more slowly than a wave crosses a cell.
const wallEvery = 16

// lining is what the wall around a cell is made of.
type lining struct {
	inv    quad // 1/hydraulic diameter [1/m]
	sand   quad // 1 where the friction is Rough, else 0
	rough  quad // its roughness term [-]
	loss   quad // extra loss coefficient per length [1/m]
	heated quad // 1 where there is a Wall, else 0
	temp   quad // its temperature [K]
}

// prepare works out the wall data of every cell.
func (p *Pipe) prepare() {
	d, l := &p.duct, p.lane
	p.wet = d.Friction != nil || d.Wall != nil || len(d.Losses) > 0 || p.wet
	rough, isRough := d.Friction.(Rough)
	p.usual = (isRough || d.Friction == nil) && (d.Wall == nil || d.Wall.Nusselt == nil)
	for i := range p.bank.lining {
		c := &p.bank.lining[i]
		s := (float64(i) + 0.5) * p.dx
		bore := d.diameterAt(s)
		c.inv[l] = 1 / bore
		c.loss[l] = d.lossPer(d.Losses, s-p.dx/2, s+p.dx/2)
		if isRough {
			c.sand[l], c.rough[l] = 1, rough.term(bore)
		}
		if d.Wall != nil {
			c.heated[l], c.temp[l] = 1, d.Wall.Temperature(min(max(s-d.ExtendLeft, 0), d.Length))
		}
	}
}

// plainWalls brings friction and wall heat of a bank up to date.
func plainWalls(b *bank) {
	for l := range b.used {
		b.walls(l)
	}
}

// walls brings friction and wall heat of lane l up to date.
func (b *bank) walls(l int) {
	p := b.pipes[l]
	if p == nil || !p.wet {
		return
	}
	wall, friction := p.duct.Wall, p.duct.Friction
	for i := range b.n {
		c, w, q := &b.cell[i+1], &b.wall[i], &b.lining[i]
		r, t := b.warmth(c, l)
		mu, inv := viscosity(t), q.inv[l]
		slow, fast := mu*inv, c.rho[l]*math.Abs(c.u[l])+stillFlux
		product := 1 / (slow * fast)
		drift, re := slow*slow*product, fast*fast*product // 1/Re and Re
		f := 0.0
		switch {
		case q.sand[l] > 0:
			f = roughFactor(drift, q.rough[l])
		case friction != nil:
			f = friction.Factor(re, 1/inv)
		}
		w.drag[l] = 0.5 * (f*inv + q.loss[l])
		if wall == nil {
			continue
		}
		var nusselt float64
		if wall.Nusselt == nil {
			nusselt = Manifold(re, f, prandtl)
		} else {
			nusselt = wall.Nusselt(re, f, prandtl)
		}
		g := c.gamma[l]
		cp := r * g / (g - 1)
		h := nusselt * mu * cp * (1. / prandtl) * inv
		w.heat[l] = h * 4 * inv * (q.temp[l] - t)
	}
}

// stillFlux is the mass flux that stands for none in a Reynolds number [kg/(m² s)].
const stillFlux = 1e-9

// warmth returns gas constant [J/(kg K)] and temperature [K] of lane l of a cell.
func (b *bank) warmth(c *cell, l int) (r, t float64) {
	r = b.gas.R(c.y[l])
	if b.gas.constant { // the kernels leave its temperature alone
		return r, c.p[l] / (c.rho[l] * r)
	}
	return r, c.temp[l]
}
