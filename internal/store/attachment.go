package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"runnel/internal/fault"
)

// An Attachment is a file a passage was made from.
type Attachment struct {
	ID      int64
	Job     string
	Piece   string
	Opening string
	Round   string
	Kind    string // "mesh", "picture" or "traverse"
	Name    string // of the file as it was sent
	About   []byte // JSON, as its writer keeps it
	Hash    string // of the contents
	Added   time.Time
}

// Attach keeps a file with the passage it belongs to and returns its number. The job must be there.
func (s *Store) Attach(ctx context.Context, a Attachment, data []byte, by By) (int64, error) {
	hash := contentHash(data)
	var id int64
	err := s.tx(ctx, func(tx *sql.Tx) error {
		if err := liveJob(ctx, tx, a.Job); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO contents (hash, data) VALUES (?,?) ON CONFLICT (hash) DO NOTHING`, hash, bytesOf(data)); err != nil {
			return err
		}
		err := tx.QueryRowContext(ctx, `
			INSERT INTO attachments (job, piece, opening, round, kind, name, about, content, added_at) VALUES (?,?,?,?,?,?,?,?,?) RETURNING id`,
			a.Job, a.Piece, a.Opening, a.Round, a.Kind, a.Name, string(a.About), hash, s.stamp()).Scan(&id)
		if err != nil {
			return err
		}
		return s.log(ctx, tx, a.Job, by, a.Kind+" "+a.Name+" added")
	})
	return id, err
}

func liveJob(ctx context.Context, tx *sql.Tx, id string) error {
	var n int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM jobs WHERE id = ? AND deleted_at = ''`, id).Scan(&n); err != nil {
		return err
	}
	if n == 0 {
		return noJob(id)
	}
	return nil
}

const attachmentColumns = `id, job, piece, opening, round, kind, name, about, content, added_at`

func scanAttachment(r row) (Attachment, error) {
	var a Attachment
	var about, added string
	err := r.Scan(&a.ID, &a.Job, &a.Piece, &a.Opening, &a.Round, &a.Kind, &a.Name, &about, &a.Hash, &added)
	a.About, a.Added = []byte(about), parseTime(added)
	return a, err
}

// Attachments lists the files in use of one passage, the oldest first.
func (s *Store) Attachments(ctx context.Context, job, piece, opening string) ([]Attachment, error) {
	return list(ctx, s.read, scanAttachment, `SELECT `+attachmentColumns+` FROM attachments
		WHERE job = ? AND piece = ? AND opening = ? AND removed_at = '' ORDER BY id`, job, piece, opening)
}

// Attachment returns one file in use of a job.
func (s *Store) Attachment(ctx context.Context, job string, id int64) (Attachment, error) {
	a, err := scanAttachment(s.read.QueryRowContext(ctx, `SELECT `+attachmentColumns+` FROM attachments WHERE job = ? AND id = ? AND removed_at = ''`, job, id))
	if errors.Is(err, sql.ErrNoRows) {
		return Attachment{}, noAttachment(id)
	}
	return a, err
}

// Content returns the bytes of an attachment by their hash.
func (s *Store) Content(ctx context.Context, hash string) ([]byte, error) {
	var data []byte
	err := s.read.QueryRowContext(ctx, `SELECT data FROM contents WHERE hash = ?`, hash).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, fault.Errorf(fault.NotFound, "no contents %s are kept", hash)
	}
	return data, err
}

// ContentSize returns the length of the contents with a hash [bytes], without reading them.
func (s *Store) ContentSize(ctx context.Context, hash string) (int64, error) {
	var n int64
	err := s.read.QueryRowContext(ctx, `SELECT length(data) FROM contents WHERE hash = ?`, hash).Scan(&n)
	if errors.Is(err, sql.ErrNoRows) {
		return 0, fault.Errorf(fault.NotFound, "no contents %s are kept", hash)
	}
	return n, err
}

// DescribeAttachment replaces what is known about a file.
func (s *Store) DescribeAttachment(ctx context.Context, job string, id int64, about []byte, by By) error {
	return s.changeAttachment(ctx, job, id, by, "changed", `UPDATE attachments SET about = ? WHERE id = ? AND job = ? AND removed_at = ''`, string(about), id, job)
}

// RemoveAttachment puts a file away. Its contents stay.
func (s *Store) RemoveAttachment(ctx context.Context, job string, id int64, by By) error {
	return s.changeAttachment(ctx, job, id, by, "put away", `UPDATE attachments SET removed_at = ? WHERE id = ? AND job = ? AND removed_at = ''`, s.stamp(), id, job)
}

func (s *Store) changeAttachment(ctx context.Context, job string, id int64, by By, what, query string, args ...any) error {
	return s.tx(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, query, args...)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n != 1 {
			return errors.Join(err, noAttachment(id))
		}
		var name string
		if err := tx.QueryRowContext(ctx, `SELECT kind || ' ' || name FROM attachments WHERE id = ?`, id).Scan(&name); err != nil {
			return err
		}
		return s.log(ctx, tx, job, by, name+" "+what)
	})
}

func noAttachment(id int64) error {
	return fault.Errorf(fault.NotFound, "there is no file number %d", id)
}

// ContentHash is the hash contents are kept by.
func ContentHash(data []byte) string { return contentHash(data) }
