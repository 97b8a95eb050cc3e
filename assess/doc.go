// Package assess turns a job, which is fact, into its assessment, which is derived: readings corrected with
// their uncertainty, verdicts, match, restriction and the pull. It is a pure function of the job, so the same
// job gives the same assessment to the last byte.
package assess
