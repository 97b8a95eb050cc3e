// Command gen makes the demo job folder: an invented shop, an invented car, and readings made by a seeded simulation of a
// bench. It writes the same bytes every time; a test holds the embedded files to what it writes.
//
// The simulation is physical: a blower with its curve draws room air through the piece and the leaks into a chamber and
// on through an orifice plate in a pipe. The plate's pressure difference is package meter inverted, the piece is an
// effective area. On top come what real benches have: a blower that spins up and wavers, turbulence with memory, sensors
// with gain errors, zero offsets and steps of resolution, a piece that is never clamped twice the same way, one knock on
// a hose, one sensor that freezes.
package main
