// Package bench turns the traces of an air bench into readings, and readings into verdicts and matches.
//
// A Setup is the bench card at work: its meters and sensors. A Sitting is one spell at it: its air, the zeros of its
// channels, its leakage and its check plate. Sitting.Read corrects one trace into a Reading: an effective area with its
// uncertainty budget, and the flow at a Reference. Compare gives the verdict between two rounds, like for like or bridged,
// and MatchOpenings says how evenly the openings of a piece flow.
//
// The effective area is the invariant: the area of an ideal nozzle that passes the same mass flow from the same stagnation
// pressure to the same static pressure,
//
//	Ae = ṁ·sqrt(R·T0)/(p0·ψ(1 − Δp/p0))
//
// with R = p/(ρ·T) of the moist air, so that its density is that of CIPM-2007. Lines of a budget carry keys: inputs that
// two readings share, such as the coefficient of one plate, cancel in their ratio.
package bench
