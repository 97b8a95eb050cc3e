package store

import (
	"context"
	"strconv"
)

// LimitPages stands in for a disk without room: the file may not grow beyond this many pages.
func (s *Store) LimitPages(ctx context.Context, n int) error {
	_, err := s.write.ExecContext(ctx, `PRAGMA max_page_count = `+strconv.Itoa(n))
	return err
}
