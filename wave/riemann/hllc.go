package riemann

import "math"

// HLLC returns the flux across the face between two states, each with its own
// isentropic exponent, by the HLLC solver with Davis's bounds for the outer
// wave speeds:
//
//	S_L = min(u_L − a_L, u_R − a_R),  S_R = max(u_L + a_L, u_R + a_R)
//	S*  = (p_R − p_L + m_L·u_L − m_R·u_R)/(m_L − m_R),  m_K = ρ_K·(S_K − u_K)
//	F   = F_K + c·(U*_K − U_K),  c = min(S_L, 0) or max(S_R, 0)
//
// with K the side the contact S* leaves upstream. Alike states give the
// physical flux exactly; a contact at rest is kept exactly.
// Source: Toro (2009), 10.4–10.5.
func HLLC(l, r State) Flux {
	al, ar := l.SoundSpeed(), r.SoundSpeed()
	sl := min(l.U-al, r.U-ar)
	sr := max(l.U+al, r.U+ar)
	ml := l.Rho * (sl - l.U)
	mr := r.Rho * (sr - r.U)
	star := (r.P - l.P + ml*l.U - mr*r.U) / (ml - mr)
	k, s, m, c := l, sl, ml, math.Min(sl, 0)
	if star < 0 {
		k, s, m, c = r, sr, mr, math.Max(sr, 0)
	}
	ps := k.P + m*(star-k.U)
	q := c / (s - star)
	d := q * (star - k.U)
	f := k.Flux()
	f.Mass += k.Rho * d
	f.Momentum += s * k.Rho * d
	f.Energy += d*k.Energy() + q*(ps*star-k.P*k.U)
	return f
}
