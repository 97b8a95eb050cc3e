package store

import (
	"context"
	"database/sql"
	"time"
)

// By is who does something and why.
type By struct {
	Who string
	Why string
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
	_, err := tx.ExecContext(ctx, `INSERT INTO changes (at, who, job, what, why) VALUES (?,?,?,?,?)`, s.stamp(), by.Who, id, what, by.Why)
	return err
}

// Changes lists what was done to a job, the newest first.
func (s *Store) Changes(ctx context.Context, id string) ([]Change, error) {
	rows, err := s.read.QueryContext(ctx, `SELECT at, who, job, what, why FROM changes WHERE job = ? ORDER BY id DESC`, id)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Change
	for rows.Next() {
		var c Change
		var at string
		if err := rows.Scan(&at, &c.Who, &c.Job, &c.What, &c.Why); err != nil {
			return nil, err
		}
		c.At = parseTime(at)
		all = append(all, c)
	}
	return all, rows.Err()
}
