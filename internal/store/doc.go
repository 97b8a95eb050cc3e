// Package store keeps jobs in one SQLite file: their folders as plain files, every revision of them, the assessments
// derived from them (a cache, never truth) and a log of who changed what, when and why.
//
// Nothing is overwritten: a job that comes in again changed is a new revision, a deleted job is only hidden.
//
// It keeps the live bench, too: the sittings the bench was opened on, the samples of their sensors in chunks of half a second, the
// faults that were named, and the states of the shop's bench card. A reading that is accepted becomes part of its job's folder,
// by Edit. A write has returned only when it is on disk, so that a reading may be called taken from then on.
package store
