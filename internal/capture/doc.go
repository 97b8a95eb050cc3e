// Package capture reads the sensors of a bench while it runs.
//
// A Source is one device line: a serial port, a Modbus server, an MQTT broker, a recorded trace, a simulated bench. It
// yields batches of samples with monotonic and wall time, and is the same contract for all; package capturetest checks it.
// Sensors name their source as text on the bench card, in the grammar of ParseAddress.
//
// A Session runs all the sources of a bench card. It starts each again with a back-off when it is lost, watches the life
// signs of every channel, names faults as they begin and end (Kind lists them), hands frames to whoever looks on, chunks to
// whoever keeps them, and cuts the trace of a reading out of what came in. Nothing is filled in: where no sample came the
// trace has none.
//
// Samples are kept as they were read, in the unit of the sensor, before calibration and zero. Only what a frame shows is
// corrected.
package capture
