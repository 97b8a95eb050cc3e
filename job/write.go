package job

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io/fs"
	"maps"
	"math"
	"path"
	"slices"
	"strings"
)

// Write hands the files of the job's folder to put, one at a time. What Load reads from them is the same job again.
// Comments of an original folder are not kept: they are no facts.
func Write(j Job, put func(name string, data []byte) error) error {
	if err := writeTOML(j, put); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(j.Traces)) {
		if !safePath(name) {
			return fmt.Errorf("trace %q is no name inside a job folder", name)
		}
		var b bytes.Buffer
		if err := WriteTrace(&b, j.Traces[name]); err != nil {
			return fmt.Errorf("%s: %w", name, err)
		}
		if err := put(name, b.Bytes()); err != nil {
			return err
		}
	}
	for _, name := range slices.Sorted(maps.Keys(j.Sections)) {
		if !safePath(name) {
			return fmt.Errorf("section %q is no name inside a job folder", name)
		}
		if err := put(name, []byte(j.Sections[name].Text)); err != nil {
			return err
		}
	}
	return nil
}

// writeTOML writes the files of a job that people edit.
func writeTOML(j Job, put func(name string, data []byte) error) error {
	files := []struct {
		name string
		from any
	}{{jobFile, &j}, {benchFile, &j.Bench}}
	for i := range j.Sittings {
		name := j.Sittings[i].File
		if name == "" {
			name = path.Join(sittingsDir, j.Sittings[i].ID+".toml")
		}
		if !safePath(name) || path.Dir(name) != sittingsDir || path.Ext(name) != ".toml" {
			return fmt.Errorf("sitting %q: %q is no name of a file in sittings/", j.Sittings[i].ID, name)
		}
		files = append(files, struct {
			name string
			from any
		}{name, &j.Sittings[i]})
	}
	written := map[string]bool{}
	for _, f := range files {
		if written[f.name] {
			return fmt.Errorf("two sittings want the file %q", f.name)
		}
		written[f.name] = true
		data, err := encode(f.from)
		if err != nil {
			return fmt.Errorf("%s: %w", f.name, err)
		}
		if err := put(f.name, data); err != nil {
			return err
		}
	}
	return nil
}

// ContentHash names the facts of the job: jobs with the same facts have the same hash whatever their files look like.
// It is the SHA-256 of the facts in hexadecimal.
func (j Job) ContentHash() (string, error) {
	h := sha256.New()
	err := writeTOML(j, func(name string, data []byte) error {
		hashPart(h, []byte(name))
		hashPart(h, data)
		return nil
	})
	if err != nil {
		return "", err
	}
	for _, name := range slices.Sorted(maps.Keys(j.Traces)) {
		t := j.Traces[name]
		hashPart(h, []byte(name))
		hashFloats(h, t.Time)
		for _, c := range t.Channels {
			hashPart(h, []byte(c.Name))
			hashPart(h, []byte(c.Unit))
			hashFloats(h, c.Values)
		}
	}
	for _, name := range slices.Sorted(maps.Keys(j.Sections)) {
		hashPart(h, []byte(name))
		hashPart(h, []byte(j.Sections[name].Text))
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// hashPart writes the length before the bytes, so that parts cannot run together.
func hashPart(h hash.Hash, data []byte) {
	var n [8]byte
	binary.LittleEndian.PutUint64(n[:], uint64(len(data)))
	h.Write(n[:])
	h.Write(data)
}

func hashFloats(h hash.Hash, xs []float64) {
	data := make([]byte, 0, 8*len(xs))
	for _, x := range xs {
		if math.IsNaN(x) {
			x = math.NaN() // one pattern of bits for all
		}
		data = binary.LittleEndian.AppendUint64(data, math.Float64bits(x))
	}
	hashPart(h, data)
}

// Hash names the bytes of a job folder: its TOML files, traces and sections, in hexadecimal SHA-256.
// It is cheaper than loading the job and changes with any edit, also of a comment.
func Hash(fsys fs.FS) (string, error) {
	h := sha256.New()
	err := fs.WalkDir(fsys, ".", func(name string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil
		case err != nil:
			return err
		case d.IsDir():
			if name != "." && strings.HasPrefix(d.Name(), ".") {
				return fs.SkipDir
			}
			return nil
		case path.Ext(name) != ".toml" && path.Ext(name) != ".csv":
			return nil
		}
		data, err := fs.ReadFile(fsys, name)
		if err != nil {
			return err
		}
		hashPart(h, []byte(name))
		hashPart(h, data)
		return nil
	})
	if err != nil {
		return "", fmt.Errorf("reading the job folder: %w", err)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}
