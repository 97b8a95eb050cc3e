package store

import (
	"context"
	"errors"
	"strconv"

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

// Bound lets the file grow to so many pages of 4 KiB and no further: a write that needs more finds the disk full.
func (s *Store) Bound(ctx context.Context, pages int) error {
	_, err := s.write.ExecContext(ctx, `PRAGMA max_page_count = `+strconv.Itoa(pages))
	return err
}
