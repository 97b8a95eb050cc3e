// Package mqtt reads sensors that publish to an MQTT broker, in version 5 or 3.1.1 of the protocol.
//
//	mqtt://HOST:NUMBER/TOPIC?unit=Pa
//	mqtt://HOST:NUMBER/TOPIC#json.path
//
// A payload is a plain number, or JSON when the address has a field: the path to the number, steps parted by points, numbers
// for the places of an array, as in "air.temp" and "values.0". Sensors of one topic share their times.
//
// Options of the line: version (5, 3.1.1), user, password-file (a file whose first line is the password: none stands on the
// bench card), client (the name given to the broker), clock (the path to the device's own clock and its unit, "t:ms").
// Options of a sensor: unit, scale, offset, rate. Wildcards are not allowed in topics: a sensor has one.
package mqtt
