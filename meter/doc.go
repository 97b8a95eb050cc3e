// Package meter turns what a flow meter shows into mass flow, with the uncertainty its standard gives and a warning for
// every limit of the standard that was left.
//
// Every kind of meter is one small type in one file and satisfies Meter. Diameter ratio, coefficient and expansibility
// carry the symbols of ISO 5167: β = d/D, C, ε, κ. The mass flow of a differential-pressure meter is
//
//	ṁ = C/sqrt(1 − β⁴)·ε·π/4·d²·sqrt(2·Δp·ρ1)
//
// with C found together with the Reynolds number. ISO 5167 states uncertainties with coverage factor 2; everything in
// this package is a relative standard uncertainty, half of that (ISO 5167-1:2003 clause 8, JCGM 100).
package meter
