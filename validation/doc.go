// Package validation holds the outside checks: what Runnel computes beside what standards, tables, papers and independent
// programs say.
//
// Each case is a directory with a README.md, which names the source and, for every check, its tolerance and the reason for
// it, and the data it was copied from. The README is read by the code: a check that it does not name cannot be made, and one
// that it names must be. Run computes them all on the machine it runs on; "runnel selfcheck" prints the table and
// docs/validation.md is that table.
package validation
