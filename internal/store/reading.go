package store

import (
	"context"
	"database/sql"
	"errors"
	"time"

	"runnel/internal/fault"
)

// A Reading is one reading as it was accepted at the bench. It never changes; Mark says what became of it.
type Reading struct {
	ID      int64
	Sitting string
	Name    string // "r001", given by KeepReading when empty
	Spell   int64  // 0: typed by hand
	From    time.Duration
	To      time.Duration // of the spell
	Facts   []byte        // what was under test, as its writer keeps it
	Trace   []byte        // CSV; empty: typed by hand
	At      time.Time
	Who     string
	Mark    Mark
}

// A Mark is what became of a reading: the last one counts.
type Mark struct {
	What string // "kept", "undone", "deleted", "brought back"
	At   time.Time
	Who  string
	Why  string
}

// Counts reports whether the reading is in use.
func (m Mark) Counts() bool { return m.What == "kept" || m.What == "brought back" }

// KeepReading accepts a reading. When it returns the reading is on disk, and only then may anyone be told so. A name that is
// in use is refused; an empty one becomes the next free of r001, r002, … The reading is returned as it was kept.
func (s *Store) KeepReading(ctx context.Context, g Reading, by By) (Reading, error) {
	err := s.tx(ctx, func(tx *sql.Tx) error {
		if g.Name == "" {
			if err := tx.QueryRowContext(ctx, `SELECT printf('r%03d', count(*)+1) FROM readings WHERE sitting = ?`, g.Sitting).Scan(&g.Name); err != nil {
				return err
			}
		}
		at := s.stamp()
		err := tx.QueryRowContext(ctx, `
			INSERT INTO readings (sitting, name, spell, from_ns, to_ns, facts, trace, at, who) VALUES (?,?,?,?,?,?,?,?,?)
			ON CONFLICT (sitting, name) DO NOTHING RETURNING id`,
			g.Sitting, g.Name, g.Spell, int64(g.From), int64(g.To), bytesOf(g.Facts), bytesOf(g.Trace), at, by.Who).Scan(&g.ID)
		if errors.Is(err, sql.ErrNoRows) {
			return fault.Errorf(fault.Conflict, "there is a reading %q in sitting %q already: a repeat is a new reading", g.Name, g.Sitting)
		}
		if err != nil {
			return err
		}
		g.At, g.Who = parseTime(at), by.Who
		g.Mark = Mark{What: "kept", At: g.At, Who: by.Who, Why: by.Why}
		return s.mark(ctx, tx, g, by, "kept")
	})
	if err != nil {
		return Reading{}, room(err)
	}
	return g, nil
}

// mark adds a mark and a line to the log.
func (s *Store) mark(ctx context.Context, tx *sql.Tx, g Reading, by By, what string) error {
	if _, err := tx.ExecContext(ctx, `INSERT INTO reading_marks (reading, what, at, who, why) VALUES (?,?,?,?,?)`, g.ID, what, s.stamp(), by.Who, by.Why); err != nil {
		return err
	}
	x, err := scanSitting(tx.QueryRowContext(ctx, `SELECT `+sittingColumns+` FROM sittings WHERE id = ?`, g.Sitting))
	if errors.Is(err, sql.ErrNoRows) {
		return noSitting(g.Sitting)
	}
	if err != nil {
		return err
	}
	return s.log(ctx, tx, x.logName(), by, "reading "+g.Name+" of sitting "+g.Sitting+" "+what)
}

// UndoReading takes the last reading of a sitting that counts out of use, and returns it.
func (s *Store) UndoReading(ctx context.Context, sitting string, by By) (Reading, error) {
	var g Reading
	err := s.tx(ctx, func(tx *sql.Tx) error {
		all, err := readings(ctx, tx, `WHERE g.sitting = ? ORDER BY g.id DESC`, sitting)
		if err != nil {
			return err
		}
		for _, g = range all {
			if g.Mark.Counts() {
				return s.mark(ctx, tx, g, by, "undone")
			}
		}
		return fault.Errorf(fault.NotFound, "there is no reading to undo")
	})
	return g, err
}

// DeleteReading takes a reading out of use for a reason.
func (s *Store) DeleteReading(ctx context.Context, id int64, by By) error {
	if by.Why == "" {
		return fault.Errorf(fault.Invalid, "deleting a reading needs a reason")
	}
	return s.change(ctx, id, by, true, "deleted")
}

// RestoreReading brings a reading back that was undone or deleted.
func (s *Store) RestoreReading(ctx context.Context, id int64, by By) error {
	return s.change(ctx, id, by, false, "brought back")
}

// change marks a reading whose present state is counts.
func (s *Store) change(ctx context.Context, id int64, by By, counts bool, what string) error {
	return s.tx(ctx, func(tx *sql.Tx) error {
		all, err := readings(ctx, tx, `WHERE g.id = ?`, id)
		switch {
		case err != nil:
			return err
		case len(all) == 0:
			return fault.Errorf(fault.NotFound, "there is no reading %d", id)
		case all[0].Mark.Counts() != counts:
			return fault.Errorf(fault.Conflict, "reading %s is %s already", all[0].Name, all[0].Mark.What)
		}
		return s.mark(ctx, tx, all[0], by, what)
	})
}

// Readings lists every reading of a sitting in the order it was taken, those out of use among them.
func (s *Store) Readings(ctx context.Context, sitting string) ([]Reading, error) {
	return readings(ctx, s.read, `WHERE g.sitting = ? ORDER BY g.id`, sitting)
}

// Marks lists everything that became of a reading, the first one first.
func (s *Store) Marks(ctx context.Context, id int64) ([]Mark, error) {
	return list(ctx, s.read, func(r row) (Mark, error) {
		var m Mark
		var at string
		err := r.Scan(&m.What, &at, &m.Who, &m.Why)
		m.At = parseTime(at)
		return m, err
	}, `SELECT what, at, who, why FROM reading_marks WHERE reading = ? ORDER BY id`, id)
}

func readings(ctx context.Context, q querier, where string, args ...any) ([]Reading, error) {
	return list(ctx, q, scanReading, `
		SELECT g.id, g.sitting, g.name, g.spell, g.from_ns, g.to_ns, g.facts, g.trace, g.at, g.who, m.what, m.at, m.who, m.why
		FROM readings g JOIN reading_marks m ON m.id = (SELECT max(id) FROM reading_marks WHERE reading = g.id) `+where, args...)
}

func scanReading(r row) (Reading, error) {
	var g Reading
	var from, to int64
	var at, marked string
	err := r.Scan(&g.ID, &g.Sitting, &g.Name, &g.Spell, &from, &to, &g.Facts, &g.Trace, &at, &g.Who, &g.Mark.What, &marked, &g.Mark.Who, &g.Mark.Why)
	g.From, g.To, g.At, g.Mark.At = time.Duration(from), time.Duration(to), parseTime(at), parseTime(marked)
	return g, err
}
