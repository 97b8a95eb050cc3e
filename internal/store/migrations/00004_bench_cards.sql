-- +goose Up

-- Readings are facts of the job's folder and kept there, each with its trace, in the revision they came with. The tables that were
-- meant for them here were never filled.
DROP TABLE reading_marks;
DROP TABLE readings;

-- The shop's bench card as it was saved, each state once. Only ever added to; the card itself is the file bench.toml of the shop.
CREATE TABLE bench_cards (
    id   INTEGER PRIMARY KEY,
    at   TEXT NOT NULL,
    who  TEXT NOT NULL,
    what TEXT NOT NULL,
    why  TEXT NOT NULL,
    card BLOB NOT NULL                     -- TOML
) STRICT;

-- +goose StatementBegin
CREATE TRIGGER bench_cards_stay BEFORE UPDATE ON bench_cards
BEGIN SELECT RAISE(ABORT, 'the states of the bench card are only added to'); END;
-- +goose StatementEnd
-- +goose StatementBegin
CREATE TRIGGER bench_cards_kept BEFORE DELETE ON bench_cards
BEGIN SELECT RAISE(ABORT, 'the states of the bench card are only added to'); END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE bench_cards;
CREATE TABLE readings (
    id      INTEGER PRIMARY KEY,
    sitting TEXT NOT NULL REFERENCES sittings (id),
    name    TEXT NOT NULL,
    spell   INTEGER NOT NULL,
    from_ns INTEGER NOT NULL,
    to_ns   INTEGER NOT NULL,
    facts   BLOB NOT NULL,
    trace   BLOB NOT NULL,
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    UNIQUE (sitting, name)
) STRICT;
CREATE TABLE reading_marks (
    id      INTEGER PRIMARY KEY,
    reading INTEGER NOT NULL REFERENCES readings (id),
    what    TEXT NOT NULL CHECK (what IN ('kept', 'undone', 'deleted', 'brought back')),
    at      TEXT NOT NULL,
    who     TEXT NOT NULL,
    why     TEXT NOT NULL
) STRICT;
CREATE INDEX reading_marks_by_reading ON reading_marks (reading, id);
