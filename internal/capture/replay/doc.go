// Package replay plays a recorded trace as if it came from the bench.
//
//	replay:traces/r001.csv?speed=2&loop=yes#meter_dp
//
// Options of the line: speed, how many times as fast (1), up to 10000; loop, yes or no (no). The field is the channel of the
// trace; the sensor's own name when it is left out. Empty cells stay empty, and a gap in the trace is a gap.
//
// With a loop the trace begins anew one usual spacing after its end.
package replay
