package store

import (
	"context"
	"io/fs"
	"strconv"

	"github.com/pressly/goose/v3"
)

// LimitPages stands in for a disk without room: the file may not grow beyond this many pages.
func (s *Store) LimitPages(ctx context.Context, n int) error {
	_, err := s.write.ExecContext(ctx, `PRAGMA max_page_count = `+strconv.Itoa(n))
	return err
}

// DownTo makes the file one of an earlier version.
func (s *Store) DownTo(ctx context.Context, version int64) error {
	dir, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, s.write, dir)
	if err != nil {
		return err
	}
	_, err = p.DownTo(ctx, version)
	return err
}
