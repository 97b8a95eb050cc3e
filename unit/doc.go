// Package unit turns quantities as people type and read them into SI and back.
//
// Everywhere else in Runnel a number is a float64 in SI. This package is the seam:
// it parses "28 inH2O", "1 3/4 in" or "315 cfm", refuses a bare number where the unit
// is not fixed by context, and writes SI numbers in the unit a reader wants.
package unit
