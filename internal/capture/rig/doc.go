// Package rig is a simulated bench, for trying every path without hardware: a blower, an orifice plate in a pipe, a test piece
// of chosen effective area, leaks, drift, noise with memory, sensors with zeros and steps, and faults on command.
//
// The flow balances at every sample: the pressure rise of the blower at its speed equals the drop across the piece, the loss
// of the plate and that of the control valve, with one mass flow through all of them. It is seeded; the same seed and the
// same commands at the same samples give the same numbers.
//
// A rig speaks over a pseudo serial port (Linux), as a Modbus TCP server, to an MQTT broker, and in this process as the
// source "rig:". All that it invents is invented: no real bench is described.
package rig
