package store

import (
	"context"
	"database/sql"
	"errors"
	"time"
)

// A BenchCard is the shop's bench card as it was saved at an instant.
type BenchCard struct {
	At   time.Time
	Who  string
	What string
	Why  string
	Card []byte // TOML
}

// AddBenchCard keeps a state of the shop's bench card. The same bytes as the last state are not kept again.
func (s *Store) AddBenchCard(ctx context.Context, card []byte, by By) error {
	return room(s.tx(ctx, func(tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, `
			INSERT INTO bench_cards (at, who, what, why, card) SELECT ?,?,?,?,?
			WHERE ? IS NOT (SELECT card FROM bench_cards ORDER BY id DESC LIMIT 1)`,
			s.stamp(), by.Who, by.What, by.Why, bytesOf(card), bytesOf(card))
		return err
	}))
}

const benchCardColumns = `at, who, what, why, card`

func scanBenchCard(r row) (BenchCard, error) {
	var c BenchCard
	var at string
	err := r.Scan(&at, &c.Who, &c.What, &c.Why, &c.Card)
	c.At = parseTime(at)
	return c, err
}

// BenchCards lists the states of the shop's bench card, the newest first.
func (s *Store) BenchCards(ctx context.Context) ([]BenchCard, error) {
	return list(ctx, s.read, scanBenchCard, `SELECT `+benchCardColumns+` FROM bench_cards ORDER BY id DESC`)
}

// LastBenchCard returns the newest state of the shop's bench card; ok is false when none was ever saved.
func (s *Store) LastBenchCard(ctx context.Context) (c BenchCard, ok bool, err error) {
	c, err = scanBenchCard(s.read.QueryRowContext(ctx, `SELECT `+benchCardColumns+` FROM bench_cards ORDER BY id DESC LIMIT 1`))
	if errors.Is(err, sql.ErrNoRows) {
		return BenchCard{}, false, nil
	}
	return c, err == nil, err
}
