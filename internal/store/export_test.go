package store

import (
	"context"
	"io/fs"

	"github.com/pressly/goose/v3"
)

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
