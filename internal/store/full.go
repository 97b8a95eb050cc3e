package store

import (
	"errors"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// A fullError is a write that found no room on the disk.
type fullError struct{ err error }

func (e *fullError) Error() string  { return "the disk is full: " + e.err.Error() }
func (e *fullError) Unwrap() error  { return e.err }
func (e *fullError) DiskFull() bool { return true }

// room marks errors that mean that the disk is full.
func room(err error) error {
	if e, ok := errors.AsType[*sqlite.Error](err); ok && e.Code()&0xFF == sqlite3.SQLITE_FULL {
		return &fullError{err}
	}
	return err
}
