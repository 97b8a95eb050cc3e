// Package wave computes unsteady one-dimensional gas flow in networks of pipes.
//
// The equations are those of an ideal gas with two constituents, fresh and
// burned, in a duct of area A(x), with wall friction and wall heat:
//
//	∂(ρA)/∂t  + ∂(ρuA)/∂x          = 0
//	∂(ρuA)/∂t + ∂((ρu² + p)A)/∂x   = p·dA/dx − ½ρu|u|·(f/D + k)·A
//	∂(ρEA)/∂t + ∂((ρE + p)uA)/∂x   = q·A
//	∂(ρYA)/∂t + ∂(ρuYA)/∂x         = 0
//
// with f the Darcy friction factor, k the extra loss coefficient per length, q
// the heat from the wall per volume and Y the burned mass fraction. They are
// solved in finite volumes by the MUSCL–Hancock scheme with the MC limiter and
// the HLLC flux, well balanced: still gas stays exactly still in any duct.
//
// A Builder takes ducts, the joints that close their ends (Closed, Mouth,
// Orifice, Restriction, Junction, Neck) and the vessels beyond them (Room,
// Volume, or the caller's own Vessel), and makes a Network, which is stepped by
// one goroutine. Every joint hands to the vessel exactly what left the pipe.
//
// Sources: E. F. Toro, Riemann Solvers and Numerical Methods for Fluid
// Dynamics, 3rd ed. (2009), ch. 10 (HLLC), 13 and 14 (MUSCL–Hancock);
// B. van Leer, J. Comput. Phys. 23 (1977) 276 (MC limiter).
package wave
