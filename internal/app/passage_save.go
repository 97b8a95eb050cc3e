package app

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
	"runnel/passage"
	"runnel/unit"
)

// A PassagePlace names a passage and the round it is in.
type PassagePlace struct{ Job, Piece, Opening, Round string }

func (p PassagePlace) String() string { return p.Piece + " " + p.Opening }

// SaveStations keeps typed stations for a round. What is wrong with them comes back as *passage.CellError, joined, and changes nothing.
func (a *App) SaveStations(ctx context.Context, at PassagePlace, text string) error {
	text = strings.ReplaceAll(text, "\r\n", "\n")
	if !strings.HasSuffix(text, "\n") {
		text += "\n"
	}
	if _, err := PassageOf("stations.csv", []byte(text), MeshReading{}); err != nil {
		return err
	}
	return a.writeStations(ctx, at, "stations typed", func(string) (string, error) { return text, nil })
}

// writeStations puts the stations of a round into the job's folder.
func (a *App) writeStations(ctx context.Context, at PassagePlace, what string, text func(before string) (string, error)) error {
	_, err := a.edit(ctx, edit{job: at.Job, what: fmt.Sprintf("passage %s: %s", at, what), do: func(j job.Job, files store.Files) (store.Files, error) {
		p, err := openingOf(j, at.Piece, at.Opening)
		if err != nil {
			return nil, err
		}
		rounds := roundsOf(j, at.Piece)
		first := ""
		if len(rounds) > 0 {
			first = rounds[0].ID
		}
		if at.Round != "" && !slices.ContainsFunc(rounds, func(r job.Round) bool { return r.ID == at.Round }) {
			return nil, fault.Errorf(fault.Invalid, "piece %q has no round %q", at.Piece, at.Round)
		}
		name := sectionFile(p, at.Opening, at.Round, first)
		if at.Round == first && p.Sections[at.Opening] == "" {
			name = sectionStem(p, at.Opening) + ".csv"
		}
		out, err := text(string(files[name]))
		if err != nil {
			return nil, err
		}
		changed := store.Files{name: []byte(out)}
		if at.Round != first || p.Sections[at.Opening] != "" {
			return changed, nil
		}
		linked, err := linkSections(j, at, name, files)
		if err != nil {
			return nil, err
		}
		maps.Copy(changed, linked)
		return changed, nil
	}})
	return err
}

// linkSections names the file of stations in the piece, as the job card has it.
func linkSections(j job.Job, at PassagePlace, name string, files store.Files) (store.Files, error) {
	j.Pieces = slices.Clone(j.Pieces)
	for i := range j.Pieces {
		if j.Pieces[i].ID != at.Piece {
			continue
		}
		m := map[string]string{at.Opening: name}
		maps.Copy(m, j.Pieces[i].Sections)
		j.Pieces[i].Sections = m
	}
	const card = "job.toml"
	out, err := writtenFiles(j, func(n string) bool { return n == card })
	if err != nil {
		return nil, err
	}
	out[card] = append(headComment(files[card]), out[card]...)
	return out, nil
}

// AddMesh makes the passage of a round from a mesh and keeps both. The error may carry a *UnitQuestionError; then nothing was kept.
func (a *App) AddMesh(ctx context.Context, at PassagePlace, name string, data []byte, m MeshReading) error {
	if !strings.EqualFold(filepath.Ext(name), ".stl") {
		return fault.Errorf(fault.Invalid, "%s is no STL file: export the mesh as STL, binary or ASCII", name)
	}
	b, err := a.Passage(ctx, at.Job, at.Piece, at.Opening) // the place must be there before the work is done
	if err != nil {
		return err
	}
	if at.Round == "" && len(b.Rounds) > 0 {
		return fault.Errorf(fault.Invalid, "choose the round the mesh was scanned in")
	}
	r, err := fromMesh(name, data, m)
	if err != nil {
		return err
	}
	how := meshAbout{Unit: r.Unit, Along: m.Along, Reverse: m.Reverse, Count: m.Stations, Holes: m.HoleLimit}
	about, err := json.Marshal(how)
	if err != nil {
		return err
	}
	key, err := cutKey(store.ContentHash(data), how)
	if err != nil {
		return err
	}
	made := make(chan cutMesh, 1) // drawn while the mesh is written
	go func() { made <- newCut(r) }()
	id, err := a.store.Attach(ctx, store.Attachment{
		Job: at.Job, Piece: at.Piece, Opening: at.Opening, Round: at.Round, Kind: "mesh", Name: filepath.Base(name), About: about,
	}, data, store.By{Who: a.who})
	cut := <-made
	if err != nil {
		return err
	}
	if err := a.keepCut(ctx, key, cut); err != nil {
		return err
	}
	return a.writeStations(ctx, at, "made from mesh "+filepath.Base(name), func(before string) (string, error) {
		st := slices.Clone(cut.Stations)
		if old, err := passage.ReadStations(strings.NewReader(before), "before"); err == nil {
			keepWalls(st, old)
		}
		note := fmt.Sprintf("# Made from mesh %d, %s, in %s.\n", id, strings.Map(onOneLine, filepath.Base(name)), r.Unit)
		return meshSheet(note, st), nil
	})
}

func onOneLine(r rune) rune {
	if r < ' ' {
		return ' '
	}
	return r
}

// keepWalls carries wall readings over to new stations of the same passage, straight between readings.
func keepWalls(st, old []passage.Station) {
	var at, wall []float64
	for _, s := range old {
		if s.Wall > 0 {
			at, wall = append(at, s.At), append(wall, s.Wall)
		}
	}
	spread(st, at, wall)
}

// spread fills the walls of stations from readings at places in order, straight between them and held at the ends.
func spread(st []passage.Station, at, wall []float64) {
	if len(at) == 0 {
		return
	}
	for i := range st {
		k := 0
		for k < len(at) && at[k] < st[i].At {
			k++
		}
		switch {
		case k == 0:
			st[i].Wall = wall[0]
		case k == len(at):
			st[i].Wall = wall[k-1]
		default:
			t := (st[i].At - at[k-1]) / (at[k] - at[k-1])
			st[i].Wall = wall[k-1]*(1-t) + wall[k]*t
		}
	}
}

// SaveWalls keeps readings of an ultrasonic gauge for a round, typed as "place wall" one a line, such as "0 mm 4.1 mm". Between
// readings the wall is taken as straight.
func (a *App) SaveWalls(ctx context.Context, at PassagePlace, typed string) error {
	places, walls, err := readWalls(typed)
	if err != nil {
		return err
	}
	b, err := a.Passage(ctx, at.Job, at.Piece, at.Opening)
	if err != nil {
		return err
	}
	s, ok := b.State(at.Round)
	if !ok {
		return fault.Errorf(fault.Invalid, "there are no stations in this round yet: type them or send a mesh first")
	}
	st := s.Passage.Stations()
	spread(st, places, walls)
	return a.writeStations(ctx, at, "wall readings", func(before string) (string, error) {
		return withWalls(before, st)
	})
}

func readWalls(typed string) (places, walls []float64, err error) {
	n := 0
	for line := range strings.Lines(typed) {
		n++
		line = strings.TrimSpace(line)
		if line == "" {
			continue
		}
		words := strings.FieldsFunc(line, func(r rune) bool { return r == ' ' || r == ',' || r == ';' || r == '\t' || r == ':' })
		if len(words) == 4 {
			words = []string{words[0] + " " + words[1], words[2] + " " + words[3]}
		}
		if len(words) != 2 {
			return nil, nil, fault.Errorf(fault.Invalid, `line %d, %q: write the place and the wall with their units, "40 mm 3.8 mm"`, n, line)
		}
		s, err := unit.Length.Parse(words[0])
		if err != nil {
			return nil, nil, fault.Errorf(fault.Invalid, "line %d: %w", n, err)
		}
		w, err := unit.Length.Parse(words[1])
		if err != nil {
			return nil, nil, fault.Errorf(fault.Invalid, "line %d: %w", n, err)
		}
		if !(w > 0) || len(places) > 0 && !(s > places[len(places)-1]) {
			return nil, nil, fault.Errorf(fault.Invalid, "line %d, %q: walls are above zero, and places come in order from the entry", n, line)
		}
		places, walls = append(places, s), append(walls, w)
	}
	if len(places) == 0 {
		return nil, nil, fault.Errorf(fault.Invalid, `no reading: write one a line, the place and the wall, "40 mm 3.8 mm"`)
	}
	return places, walls, nil
}

// withWalls writes the walls of stations into their file, whose other columns stay as they are.
func withWalls(text string, st []passage.Station) (string, error) {
	var b bytes.Buffer
	column, row := -1, 0
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\r\n")
		if strings.HasPrefix(line, "#") || strings.TrimSpace(line) == "" {
			b.WriteString(line + "\n")
			continue
		}
		cells := strings.Split(line, ",")
		if column < 0 {
			for i, c := range cells {
				if strings.HasPrefix(strings.TrimSpace(c), "wall_") {
					column = i
				}
			}
			if column < 0 {
				column = len(cells)
				cells = append(cells, "wall_mm")
			}
			cells[column] = "wall_mm"
		} else {
			for len(cells) <= column {
				cells = append(cells, "")
			}
			if row >= len(st) {
				return "", fault.Errorf(fault.Conflict, "the stations were changed meanwhile: look at them again")
			}
			cells[column] = fmt.Sprintf("%.5g", 1e3*st[row].Wall)
			row++
		}
		b.WriteString(strings.Join(cells, ",") + "\n")
	}
	return b.String(), nil
}
