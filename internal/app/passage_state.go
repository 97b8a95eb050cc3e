package app

import (
	"context"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
	"runnel/passage"
)

// A PassageState is a passage as it was in one round.
type PassageState struct {
	Round    string // empty: the piece has no rounds
	Title    string // of the round
	File     string // of the job's folder
	Text     string // the stations as they stand there
	Source   string // "typed", "mesh" or "slices"
	Passage  *passage.Passage
	MeshFile string   // as it was sent; empty: none
	MeshID   int64    // 0: none
	Mended   []string // what was done to the mesh, in words
	Warnings []string // what the reader must be told of its sections
}

// A PassageBook is all that is known of the passage behind one opening.
type PassageBook struct {
	Job       job.Job
	Piece     job.Piece
	Opening   string
	Rounds    []job.Round    // of the piece
	States    []PassageState // in the order of the rounds
	Pictures  []SlicePicture
	Traverses []TraverseFile
}

// State returns the state of a round.
func (b PassageBook) State(round string) (PassageState, bool) {
	for _, s := range b.States {
		if s.Round == round {
			return s, true
		}
	}
	return PassageState{}, false
}

// Last is the state of the latest round; ok is false when there is none.
func (b PassageBook) Last() (s PassageState, ok bool) {
	if len(b.States) == 0 {
		return s, false
	}
	return b.States[len(b.States)-1], true
}

var plain = regexp.MustCompile(`[^a-z0-9]+`)

// sectionStem is the path of the stations of an opening without its ending.
func sectionStem(p job.Piece, opening string) string {
	if name := p.Sections[opening]; name != "" {
		return strings.TrimSuffix(name, path.Ext(name))
	}
	slug := strings.Trim(plain.ReplaceAllString(strings.ToLower(p.ID+"-"+opening), "-"), "-")
	return "sections/" + slug
}

// sectionFile is where the stations of an opening in a round are kept: the file the piece names holds the first round, the others lie
// beside it with the name of the round before the ending, "sections/runner-1.finished.csv".
func sectionFile(p job.Piece, opening, round, first string) string {
	if name := p.Sections[opening]; name != "" && round == first {
		return name
	}
	return sectionStem(p, opening) + "." + round + ".csv"
}

func roundsOf(j job.Job, piece string) []job.Round {
	var out []job.Round
	for _, r := range j.Rounds {
		if r.Piece == piece {
			out = append(out, r)
		}
	}
	return out
}

// opening finds a piece and checks that it has the opening.
func openingOf(j job.Job, piece, opening string) (job.Piece, error) {
	i := slices.IndexFunc(j.Pieces, func(p job.Piece) bool { return p.ID == piece })
	if i < 0 {
		return job.Piece{}, fault.Errorf(fault.NotFound, "job %q has no piece %q", j.ID, piece)
	}
	if !slices.Contains(j.Pieces[i].Openings, opening) {
		return job.Piece{}, fault.Errorf(fault.NotFound, "piece %q has no opening %q", piece, opening)
	}
	return j.Pieces[i], nil
}

// statesOf are the states of an opening without what belongs to a mesh.
func statesOf(j job.Job, p job.Piece, opening string) []PassageState {
	rounds := roundsOf(j, p.ID)
	if len(rounds) == 0 {
		rounds = []job.Round{{}}
	}
	var out []PassageState
	for i, r := range rounds {
		name := sectionFile(p, opening, r.ID, rounds[0].ID)
		f, ok := j.Sections[name]
		if !ok && i == 0 && p.Sections[opening] == "" {
			name = sectionStem(p, opening) + ".csv"
			f, ok = j.Sections[name]
		}
		if !ok {
			continue
		}
		made, err := passage.New(f.Stations)
		if err != nil {
			continue // job.Load refuses such a file, so that it does not come here
		}
		s := PassageState{Round: r.ID, Title: orName(r.Title, r.ID), File: name, Text: f.Text, Source: "typed", Passage: made}
		if _, ok := meshOf(f.Text); ok {
			s.Source = "mesh"
		} else if strings.Contains(f.Text, slicesNote) {
			s.Source = "slices"
		}
		out = append(out, s)
	}
	return out
}

func orName(title, id string) string {
	if title != "" {
		return title
	}
	return id
}

const slicesNote = "Traced on pictures of mould slices."

var meshNote = regexp.MustCompile(`(?m)^# Made from mesh ([0-9]+)\b`)

// meshOf returns the number of the mesh that stations were made from.
func meshOf(text string) (int64, bool) {
	m := meshNote.FindStringSubmatch(text)
	if m == nil {
		return 0, false
	}
	id, err := strconv.ParseInt(m[1], 10, 64)
	return id, err == nil
}

// A PassageLine is one opening in the list of passages.
type PassageLine struct {
	Piece   job.Piece
	Opening string
	States  []PassageState
}

// Passages lists the openings of a job with what is known of their passages.
func (a *App) Passages(ctx context.Context, id string) (job.Job, []PassageLine, error) {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return job.Job{}, nil, err
	}
	var out []PassageLine
	for _, p := range b.job.Pieces {
		for _, o := range p.Openings {
			out = append(out, PassageLine{Piece: p, Opening: o, States: statesOf(b.job, p, o)})
		}
	}
	return b.job, out, nil
}

// Corrected returns a job with its corrected readings. Unlike Assessment it begins no pull: whoever types stations one after the other
// would wait behind it.
func (a *App) Corrected(ctx context.Context, id string) (Assessed, error) {
	b, row, err := a.open(ctx, id)
	if err != nil {
		return Assessed{}, err
	}
	out := Assessed{Job: b.job, Revision: row.Revision, Hash: row.Hash}
	out.Assessment, err = a.readings(b)
	return out, err
}

// Passage returns all that is known of the passage behind an opening.
func (a *App) Passage(ctx context.Context, id, piece, opening string) (PassageBook, error) {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return PassageBook{}, err
	}
	p, err := openingOf(b.job, piece, opening)
	if err != nil {
		return PassageBook{}, err
	}
	out := PassageBook{Job: b.job, Piece: p, Opening: opening, Rounds: roundsOf(b.job, piece), States: statesOf(b.job, p, opening)}
	files, err := a.store.Attachments(ctx, id, piece, opening)
	if err != nil {
		return PassageBook{}, err
	}
	for i := range out.States {
		if err := a.withMesh(ctx, &out.States[i], files); err != nil {
			return PassageBook{}, err
		}
	}
	for _, f := range files {
		switch f.Kind {
		case "picture":
			out.Pictures = append(out.Pictures, pictureOf(f))
		case "traverse":
			out.Traverses = append(out.Traverses, traverseOf(f))
		}
	}
	return out, nil
}

// withMesh gives a state that was made from a mesh the outlines of its sections back.
func (a *App) withMesh(ctx context.Context, s *PassageState, files []store.Attachment) error {
	id, ok := meshOf(s.Text)
	if !ok {
		return nil
	}
	i := slices.IndexFunc(files, func(f store.Attachment) bool {
		return f.Kind == "mesh" && numberOf(f) == id && strings.Contains(s.Text, ", "+f.Name+", ")
	})
	if i < 0 {
		i = slices.IndexFunc(files, func(f store.Attachment) bool { return f.Kind == "mesh" && numberOf(f) == id })
	}
	if i < 0 {
		return nil // the folder came from elsewhere: the stations are there, the mesh is not
	}
	cut, err := a.cutMesh(ctx, files[i])
	if fault.KindOf(err) == fault.Invalid { // it was taken by an earlier version: the stations made then still stand
		s.Warnings = []string{fmt.Sprintf("the mesh %s is refused today: %v", files[i].Name, err)}
		return nil
	}
	if err != nil {
		return fmt.Errorf("mesh %s: %w", files[i].Name, err)
	}
	s.MeshID, s.MeshFile, s.Mended = files[i].ID, files[i].Name, cut.Words
	s.Warnings = cut.Warnings
	stations := s.Passage.Stations()
	if len(stations) != len(cut.Stations) {
		return nil // the stations were edited since
	}
	for k := range stations {
		c := cut.Stations[k]
		if d := stations[k].At - c.At; d > 1e-5 || d < -1e-5 {
			return nil
		}
		wall := stations[k].Wall
		stations[k] = c
		stations[k].Wall = wall
	}
	made, err := passage.New(stations)
	if err == nil {
		s.Passage = made
	}
	return nil
}
