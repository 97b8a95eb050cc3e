-- +goose Up

-- Meshes, pictures of slices and traverses that a passage was made from, as they were sent. The stations made from them are files
-- of the job's folder.
CREATE TABLE attachments (
    id         INTEGER PRIMARY KEY,
    job        TEXT NOT NULL REFERENCES jobs (id),
    piece      TEXT NOT NULL,
    opening    TEXT NOT NULL,
    round      TEXT NOT NULL,
    kind       TEXT NOT NULL CHECK (kind IN ('mesh', 'picture', 'traverse')),
    name       TEXT NOT NULL,              -- of the file as it was sent
    about      TEXT NOT NULL,              -- JSON: unit, scale, place, outline
    content    TEXT NOT NULL REFERENCES contents (hash),
    added_at   TEXT NOT NULL,
    removed_at TEXT NOT NULL DEFAULT ''    -- empty: in use
) STRICT;

CREATE INDEX attachments_by_place ON attachments (job, piece, opening);

-- +goose Down
DROP TABLE attachments;
