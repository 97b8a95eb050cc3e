-- +goose Up

-- A sitting while it is taken: the facts go into the job's folder when it is closed.
CREATE TABLE sittings (
    id        TEXT PRIMARY KEY,
    job       TEXT NOT NULL,
    title     TEXT NOT NULL,
    bench     BLOB NOT NULL,               -- the bench card it was begun with, TOML
    begun_at  TEXT NOT NULL,
    begun_by  TEXT NOT NULL,
    closed_at TEXT NOT NULL DEFAULT ''     -- empty: it can be gone on with
) STRICT;

-- One row each time the bench is read: monotonic times count from its start.
CREATE TABLE spells (
    id       INTEGER PRIMARY KEY,
    sitting  TEXT NOT NULL REFERENCES sittings (id),
    begun_at TEXT NOT NULL
) STRICT;

CREATE INDEX spells_by_sitting ON spells (sitting, id);

-- Half a second of one source: times and samples as they were read, packed.
CREATE TABLE chunks (
    id       INTEGER PRIMARY KEY,
    spell    INTEGER NOT NULL REFERENCES spells (id),
    source   TEXT NOT NULL,
    channels TEXT NOT NULL,                -- names, one a line
    first_ns INTEGER NOT NULL,             -- time of the spell
    last_ns  INTEGER NOT NULL,
    wall     TEXT NOT NULL,                -- wall clock at the last sample
    samples  INTEGER NOT NULL,             -- rows
    data     BLOB NOT NULL
) STRICT;

CREATE INDEX chunks_by_time ON chunks (spell, last_ns);

-- A reading that was accepted. Never changed: a repeat is a new row, and marks say what became of it.
CREATE TABLE readings (
    id      INTEGER PRIMARY KEY,
    sitting TEXT NOT NULL REFERENCES sittings (id),
    name    TEXT NOT NULL,                 -- "r001"
    spell   INTEGER NOT NULL,              -- 0: typed by hand
    from_ns INTEGER NOT NULL,
    to_ns   INTEGER NOT NULL,
    facts   BLOB NOT NULL,                 -- what was under test, as its writer keeps it
    trace   BLOB NOT NULL,                 -- CSV; empty: typed by hand
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    UNIQUE (sitting, name)
) STRICT;

-- What became of a reading; the last one counts.
CREATE TABLE reading_marks (
    id      INTEGER PRIMARY KEY,
    reading INTEGER NOT NULL REFERENCES readings (id),
    what    TEXT NOT NULL CHECK (what IN ('kept', 'undone', 'deleted', 'brought back')),
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    why     TEXT NOT NULL
) STRICT;

CREATE INDEX reading_marks_by_reading ON reading_marks (reading, id);

-- Whatever else belongs to a sitting, only ever added to: air, zeros, leakage, check plate, the queue. The last of a kind counts,
-- or all of them: that is for the reader to say.
CREATE TABLE sitting_facts (
    id      INTEGER PRIMARY KEY,
    sitting TEXT NOT NULL REFERENCES sittings (id),
    kind    TEXT NOT NULL,
    data    BLOB NOT NULL,
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    why     TEXT NOT NULL
) STRICT;

CREATE INDEX sitting_facts_by_kind ON sitting_facts (sitting, kind, id);

-- Faults of the bench as they began and ended.
CREATE TABLE bench_faults (
    id      INTEGER PRIMARY KEY,
    spell   INTEGER NOT NULL REFERENCES spells (id),
    kind    TEXT NOT NULL,
    channel TEXT NOT NULL,
    source  TEXT NOT NULL,
    text    TEXT NOT NULL,
    since   TEXT NOT NULL,
    until   TEXT NOT NULL                  -- empty: its begin
) STRICT;

CREATE INDEX bench_faults_by_spell ON bench_faults (spell, id);

-- +goose StatementBegin
CREATE TRIGGER readings_stay BEFORE UPDATE ON readings
BEGIN SELECT RAISE(ABORT, 'a reading is never overwritten: a repeat is a new one'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER readings_kept BEFORE DELETE ON readings
BEGIN SELECT RAISE(ABORT, 'a reading is never removed: it is marked as deleted'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_marks_stay BEFORE UPDATE ON reading_marks
BEGIN SELECT RAISE(ABORT, 'the marks of a reading are only added to'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER reading_marks_kept BEFORE DELETE ON reading_marks
BEGIN SELECT RAISE(ABORT, 'the marks of a reading are only added to'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sitting_facts_stay BEFORE UPDATE ON sitting_facts
BEGIN SELECT RAISE(ABORT, 'the facts of a sitting are only added to'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER sitting_facts_kept BEFORE DELETE ON sitting_facts
BEGIN SELECT RAISE(ABORT, 'the facts of a sitting are only added to'); END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE bench_faults;
DROP TABLE sitting_facts;
DROP TABLE reading_marks;
DROP TABLE readings;
DROP TABLE chunks;
DROP TABLE spells;
DROP TABLE sittings;
