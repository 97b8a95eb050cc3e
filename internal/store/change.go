package store

import (
	"context"
	"database/sql"
	"time"
)

// By is who does something and why.
type By struct {
	Who  string
	Why  string
	What string // what is done; empty: the store's own words
}

// A Change is one line of the log.
type Change struct {
	At   time.Time
	Who  string
	Job  string
	What string
	Why  string
}

func (s *Store) log(ctx context.Context, tx *sql.Tx, id string, by By, what string) error {
	if by.What != "" {
		what = by.What
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO changes (at, who, job, what, why) VALUES (?,?,?,?,?)`, s.stamp(), by.Who, id, what, by.Why)
	return err
}

// Changes lists what was done to a job, the newest first.
func (s *Store) Changes(ctx context.Context, id string) ([]Change, error) {
	return list(ctx, s.read, scanChange, `SELECT at, who, job, what, why FROM changes WHERE job = ? ORDER BY id DESC`, id)
}

func scanChange(r row) (Change, error) {
	var c Change
	var at string
	err := r.Scan(&at, &c.Who, &c.Job, &c.What, &c.Why)
	c.At = parseTime(at)
	return c, err
}
