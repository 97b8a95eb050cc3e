// Package store keeps jobs in one SQLite file: their folders as plain files, every revision of them, the assessments
// derived from them (a cache, never truth) and a log of who changed what, when and why.
//
// Nothing is overwritten: a job that comes in again changed is a new revision, a deleted job is only hidden.
package store
