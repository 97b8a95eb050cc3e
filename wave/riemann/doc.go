// Package riemann computes what happens where two gas states meet: the exact
// solution of the Riemann problem of the one-dimensional Euler equations, used
// as an oracle, and the HLLC flux, used by schemes. Each side is an ideal gas
// with its own constant isentropic exponent.
//
// Sources: E. F. Toro, Riemann Solvers and Numerical Methods for Fluid
// Dynamics, 3rd ed. (2009), ch. 4 (exact solver) and 10 (HLLC).
package riemann
