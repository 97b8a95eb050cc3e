package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"runnel/internal/fault"
)

// A Sitting is one spell at the bench as it is taken.
type Sitting struct {
	ID       string
	Job      string // may be empty
	Title    string
	Bench    []byte // the bench card it was begun with, TOML
	BegunAt  time.Time
	BegunBy  string
	ClosedAt time.Time // zero: it can be gone on with
}

// BeginSitting keeps a new sitting. Its id must not be in use.
func (s *Store) BeginSitting(ctx context.Context, x Sitting, by By) error {
	if x.ID == "" {
		return fault.Errorf(fault.Invalid, "a sitting needs a name")
	}
	err := s.tx(ctx, func(tx *sql.Tx) error {
		r, err := tx.ExecContext(ctx, `INSERT INTO sittings (id, job, title, bench, begun_at, begun_by) VALUES (?,?,?,?,?,?) ON CONFLICT (id) DO NOTHING`,
			x.ID, x.Job, x.Title, bytesOf(x.Bench), s.stamp(), by.Who)
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, fault.Errorf(fault.Conflict, "there is a sitting %q already", x.ID))
		}
		return s.log(ctx, tx, x.logName(), by, "sitting "+x.ID+" begun")
	})
	return room(err)
}

// logName is what the log of changes has a sitting under: its job, or itself.
func (x Sitting) logName() string {
	if x.Job != "" {
		return x.Job
	}
	return x.ID
}

// bytesOf never is NULL.
func bytesOf(b []byte) []byte {
	if b == nil {
		return []byte{}
	}
	return b
}

// CloseSitting ends a sitting.
func (s *Store) CloseSitting(ctx context.Context, id string, by By) error {
	return s.tx(ctx, func(tx *sql.Tx) error {
		x, err := scanSitting(tx.QueryRowContext(ctx, `SELECT `+sittingColumns+` FROM sittings WHERE id = ?`, id))
		if errors.Is(err, sql.ErrNoRows) {
			return noSitting(id)
		}
		if err != nil || !x.ClosedAt.IsZero() {
			return err
		}
		if _, err := tx.ExecContext(ctx, `UPDATE sittings SET closed_at = ? WHERE id = ?`, s.stamp(), id); err != nil {
			return err
		}
		return s.log(ctx, tx, x.logName(), by, "sitting "+id+" closed")
	})
}

func noSitting(id string) error { return fault.Errorf(fault.NotFound, "there is no sitting %q", id) }

const sittingColumns = `id, job, title, bench, begun_at, begun_by, closed_at`

func scanSitting(r row) (Sitting, error) {
	var x Sitting
	var begun, closed string
	err := r.Scan(&x.ID, &x.Job, &x.Title, &x.Bench, &begun, &x.BegunBy, &closed)
	x.BegunAt, x.ClosedAt = parseTime(begun), parseTime(closed)
	return x, err
}

// Sitting returns a sitting by its id.
func (s *Store) Sitting(ctx context.Context, id string) (Sitting, error) {
	x, err := scanSitting(s.read.QueryRowContext(ctx, `SELECT `+sittingColumns+` FROM sittings WHERE id = ?`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return Sitting{}, noSitting(id)
	}
	return x, err
}

// OpenSittings lists the sittings that can be gone on with, the last begun first: what a restart resumes.
func (s *Store) OpenSittings(ctx context.Context) ([]Sitting, error) {
	return list(ctx, s.read, scanSitting, `SELECT `+sittingColumns+` FROM sittings WHERE closed_at = '' ORDER BY begun_at DESC, id`)
}

// Sittings lists the sittings of a job, the last begun first.
func (s *Store) Sittings(ctx context.Context, job string) ([]Sitting, error) {
	return list(ctx, s.read, scanSitting, `SELECT `+sittingColumns+` FROM sittings WHERE job = ? ORDER BY begun_at DESC, id`, job)
}

// A Spell is one stretch of time in which the bench was read.
type Spell struct {
	ID      int64
	BegunAt time.Time
}

// Spells lists the spells of a sitting, the first one first. More than one means that Runnel was started again in between.
func (s *Store) Spells(ctx context.Context, sitting string) ([]Spell, error) {
	return list(ctx, s.read, func(r row) (Spell, error) {
		var p Spell
		var at string
		err := r.Scan(&p.ID, &at)
		p.BegunAt = parseTime(at)
		return p, err
	}, `SELECT id, begun_at FROM spells WHERE sitting = ? ORDER BY id`, sitting)
}

// A Fact is something that was noted in a sitting: an air record, a zero, the queue.
type Fact struct {
	Kind string
	Data []byte
	At   time.Time
	Who  string
	Why  string
}

// AddFact notes something in a sitting. Nothing is overwritten: a correction is a new fact of the same kind.
func (s *Store) AddFact(ctx context.Context, sitting, kind string, data []byte, by By) error {
	_, err := s.write.ExecContext(ctx, `INSERT INTO sitting_facts (sitting, kind, data, at, who, why) VALUES (?,?,?,?,?,?)`,
		sitting, kind, bytesOf(data), s.stamp(), by.Who, by.Why)
	return room(err)
}

// Facts lists the facts of one kind in a sitting, the first one first.
func (s *Store) Facts(ctx context.Context, sitting, kind string) ([]Fact, error) {
	return list(ctx, s.read, func(r row) (Fact, error) {
		var f Fact
		var at string
		err := r.Scan(&f.Kind, &f.Data, &at, &f.Who, &f.Why)
		f.At = parseTime(at)
		return f, err
	}, `SELECT kind, data, at, who, why FROM sitting_facts WHERE sitting = ? AND kind = ? ORDER BY id`, sitting, kind)
}

// A BenchFault is a fault of the bench as it began, and again as it ended.
type BenchFault struct {
	Kind, Channel, Source, Text string
	Since                       time.Time
	Until                       time.Time // zero: this is its begin
}

// AddFault keeps a fault of the bench.
func (s *Store) AddFault(ctx context.Context, spell int64, f BenchFault) error {
	until := ""
	if !f.Until.IsZero() {
		until = f.Until.UTC().Format(stamp)
	}
	_, err := s.write.ExecContext(ctx, `INSERT INTO bench_faults (spell, kind, channel, source, text, since, until) VALUES (?,?,?,?,?,?,?)`,
		spell, f.Kind, f.Channel, f.Source, f.Text, f.Since.UTC().Format(stamp), until)
	return room(err)
}

// Faults lists the faults of a sitting in the order they were told.
func (s *Store) Faults(ctx context.Context, sitting string) ([]BenchFault, error) {
	return list(ctx, s.read, func(r row) (BenchFault, error) {
		var f BenchFault
		var since, until string
		err := r.Scan(&f.Kind, &f.Channel, &f.Source, &f.Text, &since, &until)
		f.Since, f.Until = parseTime(since), parseTime(until)
		return f, err
	}, `SELECT f.kind, f.channel, f.source, f.text, f.since, f.until FROM bench_faults f JOIN spells p ON p.id = f.spell WHERE p.sitting = ? ORDER BY f.id`, sitting)
}
