// Package job holds the facts of one customer's piece of work and the job folder they are kept in.
//
// A job is plain facts: who asked for what, the engine, the pieces and the rounds of rework, the rig cards,
// the sittings at the bench with their readings and raw traces. Nothing here is derived; package assess does that.
//
// A job folder is an open plain-file format of our own:
//
//	job.toml         customer, engine card, pieces, rounds, rig cards
//	bench.toml       meters, sensors with calibration and uncertainty, check plate
//	sittings/*.toml  air, zero, leakage, check plate, readings
//	traces/*.csv     time and channels, the unit at the end of every column name
//	sections/*.csv   stations of a passage
//
// Every dimensional field carries the tag dim, the name of its dimension in package unit. In the files such a field is
// written as text with its unit ("28 inH2O"); in memory it is SI.
package job
