// Package cli is the command line: flags → app or engineering → print to the writer it was given.
//
// Exit codes: 0 ok, 1 our fault, 2 wrong use, 3 bad input, 4 a device did not answer.
package cli
