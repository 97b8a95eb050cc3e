package store

import (
	"context"
	"database/sql"
	"errors"
)

// A Key says which assessment: of which facts, by which version of the computation, with which options.
type Key struct {
	Hash    string // of the job's files
	Version int    // of package assess
	Options string // what was asked for
}

// Assessment returns the kept JSON of an assessment; ok is false when there is none.
func (s *Store) Assessment(ctx context.Context, k Key) (json []byte, ok bool, err error) {
	err = s.read.QueryRowContext(ctx, `SELECT json FROM assessments WHERE hash = ? AND version = ? AND options = ?`,
		k.Hash, k.Version, k.Options).Scan(&json)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	return json, err == nil, err
}

// KeepAssessment keeps the JSON of an assessment, and lets go of those that older versions of the computation made of
// the same facts.
func (s *Store) KeepAssessment(ctx context.Context, k Key, json []byte) error {
	return s.tx(ctx, func(tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, `DELETE FROM assessments WHERE hash = ? AND version < ?`, k.Hash, k.Version); err != nil {
			return err
		}
		_, err := tx.ExecContext(ctx, `
			INSERT INTO assessments (hash, version, options, json, made_at) VALUES (?,?,?,?,?)
			ON CONFLICT (hash, version, options) DO UPDATE SET json = excluded.json, made_at = excluded.made_at`,
			k.Hash, k.Version, k.Options, json, s.stamp())
		return err
	})
}

// ForgetAssessments empties the cache of assessments; they are computed again when asked for.
func (s *Store) ForgetAssessments(ctx context.Context) error {
	return s.tx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `DELETE FROM assessments`)
		return err
	})
}
