package store

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"maps"
	"slices"

	"runnel/internal/fault"
)

// Files is a job folder: contents by slash-separated name.
type Files map[string][]byte

// Hash identifies the folder by its names and contents.
func (f Files) Hash() string {
	h := sha256.New()
	var n [8]byte
	part := func(b []byte) {
		binary.BigEndian.PutUint64(n[:], uint64(len(b))) // a length before each part: no two folders run into one
		h.Write(n[:])
		h.Write(b)
	}
	for _, name := range slices.Sorted(maps.Keys(f)) {
		part([]byte(name))
		part(f[name])
	}
	return hex.EncodeToString(h.Sum(nil))
}

func contentHash(b []byte) string {
	sum := sha256.Sum256(b)
	return hex.EncodeToString(sum[:])
}

func addFiles(ctx context.Context, tx *sql.Tx, id string, rev int, f Files) error {
	for _, name := range slices.Sorted(maps.Keys(f)) {
		data := f[name]
		if data == nil {
			data = []byte{} // an empty file, not NULL
		}
		hash := contentHash(data)
		if _, err := tx.ExecContext(ctx, `INSERT INTO contents (hash, data) VALUES (?,?) ON CONFLICT (hash) DO NOTHING`, hash, data); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO job_files (job, revision, name, content) VALUES (?,?,?,?)`, id, rev, name, hash); err != nil {
			return err
		}
	}
	return nil
}

// Files returns the folder of a job at a revision.
func (s *Store) Files(ctx context.Context, id string, revision int) (Files, error) {
	all, err := list(ctx, s.read, scanFile, `
		SELECT f.name, c.data FROM job_files f JOIN contents c ON c.hash = f.content
		WHERE f.job = ? AND f.revision = ?`, id, revision)
	if err != nil {
		return nil, err
	}
	if len(all) == 0 {
		return nil, fault.Errorf(fault.NotFound, "job %q has no revision %d", id, revision)
	}
	f := make(Files, len(all))
	for _, one := range all {
		f[one.name] = one.data
	}
	return f, nil
}

// File returns one file of the folder of a job at a revision; ok is false where the folder has none of that name.
func (s *Store) File(ctx context.Context, id string, revision int, name string) (data []byte, ok bool, err error) {
	err = s.read.QueryRowContext(ctx, `
		SELECT c.data FROM job_files f JOIN contents c ON c.hash = f.content
		WHERE f.job = ? AND f.revision = ? AND f.name = ?`, id, revision, name).Scan(&data)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, false, nil
	}
	return data, err == nil, err
}

type namedFile struct {
	name string
	data []byte
}

func scanFile(r row) (namedFile, error) {
	var f namedFile
	err := r.Scan(&f.name, &f.data)
	return f, err
}
