package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"runnel/internal/fault"
)

// A Job is what the store knows of a job without opening its files.
type Job struct {
	ID         string
	Title      string
	Customer   string
	Invented   bool      // demo data
	BookedIn   time.Time // zero when not known
	Hash       string    // of the files of the newest revision
	Revision   int       // counts from 1
	ImportedAt time.Time // when the newest revision came in
	DeletedAt  time.Time // zero: in use
	DeletedWhy string
}

// A Revision is one state of a job's folder.
type Revision struct {
	Number     int
	Hash       string
	ImportedAt time.Time
}

// An Outcome says what a Put did.
type Outcome int

// What a Put can do.
const (
	Unchanged Outcome = iota // the same files were there already
	Created                  // a new job
	Revised                  // a new revision of a job that was there
	Revived                  // a deleted job came back
)

// Put stores the files of a job and what its cards say. The same files again change nothing; other files make a new
// revision and the old one is kept; a deleted job comes back. The revision it now has is returned.
func (s *Store) Put(ctx context.Context, j Job, f Files, by By) (Outcome, int, error) {
	out, rev := Unchanged, 0
	hash := f.Hash()
	err := s.tx(ctx, func(tx *sql.Tx) error {
		old, err := scanJob(tx.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE id = ?`, j.ID))
		switch {
		case errors.Is(err, sql.ErrNoRows):
			out, rev = Created, 1
		case err != nil:
			return err
		case old.DeletedAt.IsZero() && old.Hash == hash:
			rev = old.Revision
			return nil
		case old.Hash == hash:
			out, rev = Revived, old.Revision
			return s.revive(ctx, tx, j.ID, by)
		case old.DeletedAt.IsZero():
			out, rev = Revised, old.Revision+1
		default:
			out, rev = Revived, old.Revision+1
		}
		return s.add(ctx, tx, j, f, hash, rev, out, by)
	})
	if err != nil {
		return Unchanged, 0, err
	}
	return out, rev, nil
}

func (s *Store) add(ctx context.Context, tx *sql.Tx, j Job, f Files, hash string, rev int, out Outcome, by By) error {
	at := s.stamp()
	booked := ""
	if !j.BookedIn.IsZero() {
		booked = j.BookedIn.Format(time.RFC3339)
	}
	_, err := tx.ExecContext(ctx, `
		INSERT INTO jobs (id, title, customer, invented, booked_in, hash, revision, imported_at) VALUES (?,?,?,?,?,?,?,?)
		ON CONFLICT (id) DO UPDATE SET title = excluded.title, customer = excluded.customer, invented = excluded.invented,
			booked_in = excluded.booked_in, hash = excluded.hash, revision = excluded.revision,
			imported_at = excluded.imported_at, deleted_at = '', deleted_why = ''`,
		j.ID, j.Title, j.Customer, j.Invented, booked, hash, rev, at)
	if err != nil {
		return err
	}
	if _, err := tx.ExecContext(ctx, `INSERT INTO revisions (job, revision, hash, imported_at) VALUES (?,?,?,?)`, j.ID, rev, hash, at); err != nil {
		return err
	}
	if err := addFiles(ctx, tx, j.ID, rev, f); err != nil {
		return err
	}
	return s.log(ctx, tx, j.ID, by, map[Outcome]string{Created: "imported", Revised: "changed by import", Revived: "imported again after deletion", Unchanged: ""}[out])
}

// Delete hides a job. Its files stay, and Restore brings it back. A reason must be given.
func (s *Store) Delete(ctx context.Context, id string, by By) error {
	if by.Why == "" {
		return fault.Errorf(fault.Invalid, "deleting job %q needs a reason", id)
	}
	return s.tx(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, `UPDATE jobs SET deleted_at = ?, deleted_why = ? WHERE id = ? AND deleted_at = ''`, s.stamp(), by.Why, id)
		if err := one(r, err, id); err != nil {
			return err
		}
		return s.log(ctx, tx, id, by, "deleted")
	})
}

// Restore brings a deleted job back.
func (s *Store) Restore(ctx context.Context, id string, by By) error {
	return s.tx(ctx, func(tx *sql.Tx) error { return s.revive(ctx, tx, id, by) })
}

func (s *Store) revive(ctx context.Context, tx *sql.Tx, id string, by By) error {
	r, err := tx.ExecContext(ctx, `UPDATE jobs SET deleted_at = '', deleted_why = '' WHERE id = ? AND deleted_at <> ''`, id)
	if err := one(r, err, id); err != nil {
		return err
	}
	return s.log(ctx, tx, id, by, "brought back")
}

func one(r sql.Result, err error, id string) error {
	if err != nil {
		return err
	}
	if n, err := r.RowsAffected(); err != nil || n == 1 {
		return err
	}
	return noJob(id)
}

func noJob(id string) error { return fault.Errorf(fault.NotFound, "there is no job %q", id) }

const jobColumns = `id, title, customer, invented, booked_in, hash, revision, imported_at, deleted_at, deleted_why`

func scanJob(r row) (Job, error) {
	var j Job
	var booked, imported, deleted string
	err := r.Scan(&j.ID, &j.Title, &j.Customer, &j.Invented, &booked, &j.Hash, &j.Revision, &imported, &deleted, &j.DeletedWhy)
	j.BookedIn, j.ImportedAt, j.DeletedAt = parseTime(booked), parseTime(imported), parseTime(deleted)
	return j, err
}

// Jobs lists the jobs in use, the last booked in first.
func (s *Store) Jobs(ctx context.Context) ([]Job, error) {
	return s.jobs(ctx, `deleted_at = '' ORDER BY booked_in DESC, imported_at DESC, id`)
}

// Deleted lists the deleted jobs, the last deleted first.
func (s *Store) Deleted(ctx context.Context) ([]Job, error) {
	return s.jobs(ctx, `deleted_at <> '' ORDER BY deleted_at DESC, id`)
}

func (s *Store) jobs(ctx context.Context, where string) ([]Job, error) {
	return list(ctx, s.read, scanJob, `SELECT `+jobColumns+` FROM jobs WHERE `+where)
}

// Job returns the job in use with the given id.
func (s *Store) Job(ctx context.Context, id string) (Job, error) {
	j, err := scanJob(s.read.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM jobs WHERE id = ? AND deleted_at = ''`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return Job{}, noJob(id)
	}
	return j, err
}

// Revisions lists the states of a job's folder, the newest first.
func (s *Store) Revisions(ctx context.Context, id string) ([]Revision, error) {
	return list(ctx, s.read, scanRevision, `SELECT revision, hash, imported_at FROM revisions WHERE job = ? ORDER BY revision DESC`, id)
}

func scanRevision(r row) (Revision, error) {
	var v Revision
	var at string
	err := r.Scan(&v.Number, &v.Hash, &at)
	v.ImportedAt = parseTime(at)
	return v, err
}
