package store

import (
	"context"
	"database/sql"
	"errors"
)

// A row is what can be scanned: one row, or the present one of many.
type row interface{ Scan(into ...any) error }

// A querier is a file, or a transaction on it.
type querier interface {
	QueryContext(ctx context.Context, query string, args ...any) (*sql.Rows, error)
}

// list reads every row of a query.
func list[T any](ctx context.Context, db querier, scan func(row) (T, error), query string, args ...any) (all []T, err error) {
	rows, err := db.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		one, err := scan(rows)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, rows.Err()
}
