// Package measure holds a number and how sure we are of it: the settled mean of
// a trace, the uncertainty budget of a reading, its Monte Carlo check, the
// comparison of two readings, the match of many, control charts, gauge studies
// and comparisons between benches.
//
// The package knows no physics. Numbers carry whatever unit the caller gives
// them; a comment says "[unit of x]" where that is so, and "[-]" where a number
// has none. Everything is a pure function of its arguments: where chance is
// needed the caller hands in a *rand.Rand, so that the same seed gives the same
// answer.
//
// Three ways of saying no are kept apart. What cannot be computed is an error
// that wraps one of the sentinels in this package. What was computed outside the
// reach of its source is a Warning inside the result. A caller's mistake, such as
// two slices of unequal length, is a panic.
//
// Sources. JCGM 100:2008 (the guide to the expression of uncertainty), JCGM
// 101:2008 (propagation of distributions by Monte Carlo), ISO 13528 (between
// laboratories), and the papers named at each function.
package measure
