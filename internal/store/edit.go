package store

import (
	"context"
	"database/sql"
	"errors"

	"runnel/internal/fault"
)

// Edit keeps a changed folder of a job as its next revision, provided the job is still at revision base: else it is a
// conflict and nothing is kept. The same files again change nothing. It returns the revision the job now has.
func (s *Store) Edit(ctx context.Context, j Job, base int, f Files, by By) (int, error) {
	rev, hash := base, f.Hash()
	err := s.tx(ctx, func(tx *sql.Tx) error {
		old, err := scanJob(tx.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE id = ? AND deleted_at = ''`, j.ID))
		switch {
		case errors.Is(err, sql.ErrNoRows):
			return noJob(j.ID)
		case err != nil:
			return err
		case old.Revision != base:
			return fault.Errorf(fault.Conflict, "job %q is at revision %d by now, and this change was made to revision %d", j.ID, old.Revision, base)
		case old.Hash == hash:
			return nil
		}
		rev = base + 1
		return s.add(ctx, tx, j, f, hash, rev, Revised, by)
	})
	if err != nil {
		return 0, err
	}
	return rev, nil
}
