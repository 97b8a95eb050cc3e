package app

import (
	"archive/zip"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"path/filepath"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
)

// Meshes, pictures and probe readings that passages were made from are no facts of the job: they are kept beside its folder, and travel with
// it in a folder of their own, with a list of what belongs where.
const (
	scansFolder = "scans/"
	scansList   = scansFolder + "scans.json"
)

// A scanCard is one line of that list.
type scanCard struct {
	File    string          `json:"file"` // within the folder of scans
	Bytes   int64           `json:"bytes"`
	Kind    string          `json:"kind"` // "mesh", "picture" or "traverse"
	Name    string          `json:"name"` // as it was sent
	Piece   string          `json:"piece"`
	Opening string          `json:"opening"`
	Round   string          `json:"round"`
	Number  int64           `json:"number"` // that stations made from it name
	About   json.RawMessage `json:"about"`  // how it was read
}

// scans lists what is kept beside a job, in the order of its openings.
func (a *App) scans(ctx context.Context, id string) ([]store.Attachment, error) {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return nil, err
	}
	var out []store.Attachment
	for _, p := range b.job.Pieces {
		for _, o := range p.Openings {
			files, err := a.store.Attachments(ctx, id, p.ID, o)
			if err != nil {
				return nil, err
			}
			out = append(out, files...)
		}
	}
	return out, nil
}

// ScansSize returns how many meshes, pictures and probe readings are kept beside a job and how long they are in all [bytes].
func (a *App) ScansSize(ctx context.Context, id string) (count int, bytes int64, err error) {
	files, err := a.scans(ctx, id)
	if err != nil {
		return 0, 0, err
	}
	for _, f := range files {
		n, err := a.store.ContentSize(ctx, f.Hash)
		if err != nil {
			return 0, 0, err
		}
		bytes += n
	}
	return len(files), bytes, nil
}

// zipScans writes what is kept beside a job into the zip of its folder, one file after the other.
func (a *App) zipScans(ctx context.Context, id string, z *zip.Writer) error {
	files, err := a.scans(ctx, id)
	if err != nil || len(files) == 0 {
		return err
	}
	var list []scanCard
	for _, f := range files {
		data, err := a.store.Content(ctx, f.Hash)
		if err != nil {
			return err
		}
		ext := path.Ext(f.Name)
		card := scanCard{
			File: fmt.Sprintf("%d-%s%s", f.ID, strings.Trim(plain.ReplaceAllString(strings.ToLower(strings.TrimSuffix(f.Name, ext)), "-"), "-"), strings.ToLower(ext)), Bytes: int64(len(data)),
			Kind: f.Kind, Name: f.Name, Piece: f.Piece, Opening: f.Opening, Round: f.Round, Number: numberOf(f), About: f.About,
		}
		list = append(list, card)
		if err := zipped(z, path.Join(id, scansFolder+card.File), data); err != nil {
			return err
		}
	}
	text, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return err
	}
	return zipped(z, path.Join(id, scansList), append(text, '\n'))
}

// numberOf is the number that stations made from a mesh name: that of the file where they were made.
func numberOf(f store.Attachment) int64 {
	var m meshAbout
	if f.Kind == "mesh" && json.Unmarshal(f.About, &m) == nil && m.Number > 0 {
		return m.Number
	}
	return f.ID
}

// A scan is a file that came with a job's folder.
type scan struct {
	scanCard

	data []byte
}

// partScans takes what is kept beside a job out of its folder.
func partScans(files store.Files) (store.Files, []scan, error) {
	text, ok := files[scansList]
	if !ok {
		return files, nil, nil
	}
	var list []scanCard
	if err := json.Unmarshal(text, &list); err != nil {
		return nil, nil, fault.Errorf(fault.Invalid, "%s cannot be read: %w; leave the folder %s out to import the job without its meshes and pictures", scansList, err, scansFolder)
	}
	files = maps.Clone(files)
	delete(files, scansList)
	var out []scan
	for i, c := range list {
		data, ok := files[scansFolder+c.File]
		switch {
		case !ok:
			return nil, nil, fault.Errorf(fault.Invalid, "%s, entry %d: there is no file %s%s: put it back, or take the entry out", scansList, i+1, scansFolder, c.File)
		case int64(len(data)) != c.Bytes:
			return nil, nil, fault.Errorf(fault.Invalid, "%s%s has %d bytes where %s says %d: it did not arrive whole", scansFolder, c.File, len(data), scansList, c.Bytes)
		case !slices.Contains([]string{"mesh", "picture", "traverse"}, c.Kind):
			return nil, nil, fault.Errorf(fault.Invalid, "%s, entry %d: %q is no kind: write mesh, picture or traverse", scansList, i+1, c.Kind)
		}
		out = append(out, scan{c, data})
	}
	for _, c := range list {
		delete(files, scansFolder+c.File)
	}
	return files, out, nil
}

// placeScans checks that the job has the openings its scans belong to. A folder that is wrong itself is left to whoever keeps it.
func (a *App) placeScans(ctx context.Context, files store.Files, scans []scan) error {
	if len(scans) == 0 {
		return nil
	}
	whole, _, err := a.madeWhole(ctx, files)
	if err != nil {
		return err
	}
	j, _, err := a.readFolder(ctx, whole)
	if err != nil {
		return nil //nolint:nilerr // told when the folder is kept
	}
	for i, s := range scans {
		if _, err := openingOf(j, s.Piece, s.Opening); err != nil {
			return fault.Errorf(fault.Invalid, "%s, entry %d: %w", scansList, i+1, err)
		}
	}
	return nil
}

// keepScans keeps what came with a job's folder; what is there already is not kept twice.
func (a *App) keepScans(ctx context.Context, id string, scans []scan) error {
	for _, s := range scans {
		there, err := a.store.Attachments(ctx, id, s.Piece, s.Opening)
		if err != nil {
			return err
		}
		hash := store.ContentHash(s.data)
		if slices.ContainsFunc(there, func(f store.Attachment) bool {
			return f.Hash == hash && f.Kind == s.Kind && f.Round == s.Round && f.Name == s.Name && (s.Kind != "mesh" || numberOf(f) == s.Number)
		}) {
			continue
		}
		about := []byte(s.About)
		if s.Kind == "mesh" {
			var m meshAbout
			if err := json.Unmarshal(about, &m); err != nil {
				return fault.Errorf(fault.Invalid, "%s: how %s is to be read is not said: %w", scansList, s.Name, err)
			}
			m.Number = s.Number
			if about, err = json.Marshal(m); err != nil {
				return err
			}
		}
		_, err = a.store.Attach(ctx, store.Attachment{
			Job: id, Piece: s.Piece, Opening: s.Opening, Round: s.Round, Kind: s.Kind, Name: filepath.Base(s.Name), About: about,
		}, s.data, store.By{Who: a.who, Why: "came with the folder"})
		if err != nil {
			return fmt.Errorf("the job is kept, but %s is not: %w", s.Name, err)
		}
	}
	return nil
}
