package tract

import (
	"math"

	"runnel/gas"
)

// march returns the effective area of one opening of the whole [m²] by taking the air through one piece after another
// at the flow that ends at the downstream pressure.
func (s Series) march() float64 {
	end := s.Pressure - s.Drop
	miss := func(w float64) float64 {
		p, ok := s.endPressure(w, nil)
		if !ok {
			return -end
		}
		return p - end
	}
	lo, hi := 0.0, math.Inf(1)
	top := gas.NozzleFunction(0, s.Gamma)
	for _, p := range s.Pieces {
		hi = min(hi, p.Area/p.feeds()*top)
	}
	hi *= 1 + 1e-12
	w := bracketed(miss, lo, hi)
	return w / gas.NozzleFunction(end/s.Pressure, s.Gamma)
}

// endPressure returns the static pressure behind the last piece [Pa] at the reduced flow w = ṁ√(R·T0)/p0 of one opening [m²];
// ok is false when a piece is choked below that flow. When left is not nil it receives the total pressure each piece leaves
// to the next [Pa], the last its static pressure.
func (s Series) endPressure(w float64, left []float64) (p float64, ok bool) {
	total := s.Pressure
	for i, piece := range s.Pieces {
		n := piece.feeds()
		r, ok := nozzleRatio(n*w*s.Pressure/(total*piece.Area), s.Gamma)
		if !ok {
			return 0, false
		}
		p = r * total
		if i < len(s.Pieces)-1 {
			total = p + s.carried(i, w, p, total)
		} else {
			total = p
		}
		if left != nil {
			left[i] = total
		}
	}
	return p, true
}

// carried returns the part of the velocity head at the exit of piece i [Pa] that reaches the next piece; p is the static
// pressure at the exit and total the total pressure at the piece's entry [Pa].
func (s Series) carried(i int, w, p, total float64) float64 {
	piece, next := s.Pieces[i], s.Pieces[i+1]
	if piece.Exit == 0 || piece.Carried == 0 {
		return 0
	}
	n := piece.feeds()
	m := machOfFlow(n*w*s.Pressure/(p*piece.Exit), s.Gamma)
	head := min(total-p, p*(totalRatio(m, s.Gamma)-1))
	return piece.Carried * max(0, head*(1-jointLoss(piece.Exit/n, next.Entry/next.feeds())))
}

// needsCompressible reports whether a pressure ratio is below CompressibleBelow.
func (s Series) needsCompressible() bool {
	if s.Pressure == 0 {
		return false
	}
	if 1-s.Drop/s.Pressure < CompressibleBelow {
		return true
	}
	// A piece can have a lower ratio than the whole only when the next wins pressure back from carried head.
	whole := s.smallDrop()
	for _, p := range s.Pieces {
		n := p.feeds()
		if 1-n*n/(p.Area*p.Area)/whole*s.Drop/s.Pressure < CompressibleBelow {
			return true
		}
	}
	return false
}

// bracketed returns the root of a falling f between lo and hi to twelve figures: false position in the Illinois form, with a halving
// whenever three steps have not halved the bracket.
func bracketed(f func(float64) float64, lo, hi float64) float64 {
	flo, fhi := f(lo), f(hi)
	if flo <= 0 {
		return lo
	}
	if fhi >= 0 {
		return hi
	}
	side, width, slow := 0, hi-lo, 0
	for range 200 {
		x := (lo*fhi - hi*flo) / (fhi - flo)
		if slow >= 3 || !(x > lo && x < hi) {
			x, slow = lo+(hi-lo)/2, 0
		}
		if x <= lo || x >= hi || hi-lo <= 1e-13*math.Abs(hi) {
			break
		}
		fx := f(x)
		switch {
		case fx == 0:
			return x
		case fx > 0:
			lo, flo = x, fx
			if side == 1 {
				fhi /= 2
			}
			side = 1
		default:
			hi, fhi = x, fx
			if side == -1 {
				flo /= 2
			}
			side = -1
		}
		slow++
		if hi-lo < width/2 {
			width, slow = hi-lo, 0
		}
	}
	return (lo*fhi - hi*flo) / (fhi - flo)
}
