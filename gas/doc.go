// Package gas holds the properties of air and the steady one-dimensional relations of a perfect gas.
//
// MoistAir is the air of a room by CIPM-2007 (density), Cramer 1993 (speed of sound) and Sutherland (viscosity).
// NozzleFunction and its companions turn a pressure ratio into a mass flow and back; they carry the effective area
// that readings are stated in. The isentropic, normal-shock and Fanno relations are here to check other packages by.
//
// All quantities are SI. A result outside the range of its source carries a Warning; input that no air can have is an
// *InputError.
package gas
