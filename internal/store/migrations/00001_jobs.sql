-- +goose Up

-- One row a job; what it shows comes from its newest revision.
CREATE TABLE jobs (
    id          TEXT PRIMARY KEY,
    title       TEXT NOT NULL,
    customer    TEXT NOT NULL,
    invented    INTEGER NOT NULL,
    booked_in   TEXT NOT NULL,             -- RFC 3339, empty when not known
    hash        TEXT NOT NULL,             -- of the files of the newest revision
    revision    INTEGER NOT NULL,
    imported_at TEXT NOT NULL,
    deleted_at  TEXT NOT NULL DEFAULT '',  -- empty: in use
    deleted_why TEXT NOT NULL DEFAULT ''
) STRICT;

CREATE TABLE revisions (
    job         TEXT NOT NULL REFERENCES jobs (id),
    revision    INTEGER NOT NULL,
    hash        TEXT NOT NULL,
    imported_at TEXT NOT NULL,
    PRIMARY KEY (job, revision)
) STRICT, WITHOUT ROWID;

-- Contents, each once however many revisions share it.
CREATE TABLE contents (
    hash TEXT PRIMARY KEY,
    data BLOB NOT NULL
) STRICT;

-- The job folder as plain files: the facts.
CREATE TABLE job_files (
    job      TEXT NOT NULL,
    revision INTEGER NOT NULL,
    name     TEXT NOT NULL,                -- slash-separated, relative to the folder
    content  TEXT NOT NULL REFERENCES contents (hash),
    PRIMARY KEY (job, revision, name),
    FOREIGN KEY (job, revision) REFERENCES revisions (job, revision)
) STRICT, WITHOUT ROWID;

-- Derived; may be emptied at any time.
CREATE TABLE assessments (
    hash    TEXT NOT NULL,
    version INTEGER NOT NULL,
    options TEXT NOT NULL,
    json    BLOB NOT NULL,
    made_at TEXT NOT NULL,
    PRIMARY KEY (hash, version, options)
) STRICT;

-- Who, when, what, why. Only ever added to.
CREATE TABLE changes (
    id   INTEGER PRIMARY KEY,
    at   TEXT NOT NULL,
    who  TEXT NOT NULL,
    job  TEXT NOT NULL,
    what TEXT NOT NULL,
    why  TEXT NOT NULL
) STRICT;

CREATE INDEX changes_by_job ON changes (job, id);

-- +goose StatementBegin
CREATE TRIGGER changes_stay BEFORE UPDATE ON changes
BEGIN SELECT RAISE(ABORT, 'the log of changes is only added to'); END;
-- +goose StatementEnd

-- +goose StatementBegin
CREATE TRIGGER changes_kept BEFORE DELETE ON changes
BEGIN SELECT RAISE(ABORT, 'the log of changes is only added to'); END;
-- +goose StatementEnd

-- +goose Down
DROP TABLE changes;
DROP TABLE assessments;
DROP TABLE job_files;
DROP TABLE contents;
DROP TABLE revisions;
DROP TABLE jobs;
