// Package store keeps jobs in one SQLite file: their folders as plain files, every revision of them, the assessments
// derived from them (a cache, never truth) and a log of who changed what, when and why.
//
// Nothing is overwritten: a job that comes in again changed is a new revision, a deleted job is only hidden.
//
// It keeps the live bench, too: sittings as they are taken, the samples of their sensors in chunks of half a second, the
// readings that were accepted with what became of them, and the faults that were named. A write has returned only when it is
// on disk, so that a reading may be called taken from then on.
package store
