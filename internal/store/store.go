package store

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver "sqlite"
)

//go:embed migrations/*.sql
var migrations embed.FS

// A Store is one SQLite file. Writes go through one connection, so they never fight; reads have a pool of their own.
type Store struct {
	write, read *sql.DB
	now         func() time.Time
}

// Open opens the file at path, making and migrating it as needed. now stamps what is written.
func Open(ctx context.Context, path string, now func() time.Time) (*Store, error) {
	if err := private(path); err != nil {
		return nil, fmt.Errorf("store %s: %w", path, err)
	}
	write, err := sql.Open("sqlite", dsn(path, "&_txlock=immediate"))
	if err != nil {
		return nil, fmt.Errorf("store %s: %w", path, err)
	}
	write.SetMaxOpenConns(1)
	read, err := sql.Open("sqlite", dsn(path, "&_pragma=query_only(1)"))
	if err != nil {
		return nil, errors.Join(fmt.Errorf("store %s: %w", path, err), write.Close())
	}
	read.SetMaxOpenConns(max(4, runtime.NumCPU()))
	s := &Store{write: write, read: read, now: now}
	if err := s.migrate(ctx); err != nil {
		return nil, errors.Join(fmt.Errorf("store %s: %w", path, err), s.Close())
	}
	return s, nil
}

// private makes the file readable by its owner only: it holds customers' names.
func private(path string) error {
	f, err := os.OpenFile(path, os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return err
	}
	return f.Close()
}

// dsn puts busy_timeout first: the pragmas after it may already have to wait for another process.
func dsn(path, more string) string {
	slash := filepath.ToSlash(path)
	if filepath.VolumeName(path) != "" {
		slash = "/" + slash
	}
	return "file:" + (&url.URL{Path: slash}).EscapedPath() +
		"?_pragma=busy_timeout(10000)&_pragma=journal_mode(WAL)&_pragma=synchronous(FULL)&_pragma=foreign_keys(1)" + more
}

func (s *Store) migrate(ctx context.Context) error {
	dir, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return err
	}
	p, err := goose.NewProvider(goose.DialectSQLite3, s.write, dir)
	if err != nil {
		return err
	}
	if _, err := p.Up(ctx); err != nil {
		return fmt.Errorf("bringing it up to date: %w", err)
	}
	return nil
}

// Close closes the file.
func (s *Store) Close() error { return errors.Join(s.read.Close(), s.write.Close()) }

// Check runs the file's own integrity check and the foreign keys' one.
func (s *Store) Check(ctx context.Context) error {
	var word string
	if err := s.read.QueryRowContext(ctx, `PRAGMA integrity_check`).Scan(&word); err != nil {
		return fmt.Errorf("integrity check: %w", err)
	}
	if word != "ok" {
		return fmt.Errorf("integrity check: %s", word)
	}
	loose, err := list(ctx, s.read, func(r row) (string, error) {
		var table string
		err := r.Scan(&table)
		return table, err
	}, `SELECT "table" FROM pragma_foreign_key_check`)
	if err != nil {
		return fmt.Errorf("foreign key check: %w", err)
	}
	if len(loose) > 0 {
		return fmt.Errorf("foreign key check: a row of %s points nowhere", loose[0])
	}
	return nil
}

// tx runs do in one write transaction: all of it is kept or none.
func (s *Store) tx(ctx context.Context, do func(*sql.Tx) error) error {
	tx, err := s.write.BeginTx(ctx, nil)
	if err != nil {
		return fmt.Errorf("store: %w", err)
	}
	if err := do(tx); err != nil {
		return errors.Join(err, rolledBack(tx.Rollback()))
	}
	if err := tx.Commit(); err != nil {
		return fmt.Errorf("store: %w", err)
	}
	return nil
}

// rolledBack forgives a transaction that the context has already ended.
func rolledBack(err error) error {
	if errors.Is(err, sql.ErrTxDone) || errors.Is(err, context.Canceled) {
		return nil
	}
	return err
}

const stamp = "2006-01-02T15:04:05.000000000Z07:00" // fixed width, so that text sorts as time

func (s *Store) stamp() string { return s.now().UTC().Format(stamp) }

func parseTime(s string) time.Time {
	t, err := time.Parse(time.RFC3339Nano, strings.TrimSpace(s))
	if err != nil {
		return time.Time{}
	}
	return t
}
