package app

import (
	"bytes"
	"context"
	"encoding/gob"
	"encoding/json"
	"fmt"

	"runnel/assess"
	"runnel/internal/store"
	"runnel/passage"
)

// A cutMesh is a mesh with the sections cut from it, as it is kept.
type cutMesh struct {
	Stations []passage.Station
	Words    []string // what was done to the mesh
	Warnings []string // what the reader must be told of the sections
	View     MeshView
}

// A meshAbout is how a mesh was read.
type meshAbout struct {
	Unit    string `json:"unit"`
	Along   string `json:"along,omitempty"`
	Reverse bool   `json:"reverse,omitempty"`
	Count   int    `json:"stations,omitempty"`

	Holes  float64 `json:"holes_m,omitempty"` // width up to which holes were closed [m]; 0: as usual
	Number int64   `json:"number,omitempty"`  // that stations name it by, when it came from elsewhere; 0: its own
}

func (m meshAbout) reading() MeshReading {
	return MeshReading{Unit: m.Unit, Sure: true, Along: m.Along, Reverse: m.Reverse, Stations: m.Count, HoleLimit: m.Holes}
}

const cutVersion = "mesh 4 " // counts up when the sections of the same mesh come out otherwise

// cutKey is what the sections of a mesh are kept by: its contents and how it was read, whatever its number.
func cutKey(hash string, m meshAbout) (store.Key, error) {
	m.Number = 0
	about, err := json.Marshal(m)
	return store.Key{Hash: hash, Version: assess.Version, Options: cutVersion + string(about)}, err
}

// cutMesh returns the sections of a mesh that is kept, cutting them again when they are not there.
func (a *App) cutMesh(ctx context.Context, f store.Attachment) (cutMesh, error) {
	var about meshAbout
	if err := json.Unmarshal(f.About, &about); err != nil {
		return cutMesh{}, fmt.Errorf("what is kept about it: %w", err)
	}
	key, err := cutKey(f.Hash, about)
	if err != nil {
		return cutMesh{}, err
	}
	data, ok, err := a.store.Assessment(ctx, key)
	if err != nil {
		return cutMesh{}, err
	}
	var c cutMesh
	if ok && gob.NewDecoder(bytes.NewReader(data)).Decode(&c) == nil {
		return c, nil
	}
	data, err = a.store.Content(ctx, f.Hash)
	if err != nil {
		return cutMesh{}, err
	}
	r, err := fromMesh(f.Name, data, about.reading())
	if err != nil {
		return cutMesh{}, err
	}
	c = newCut(r)
	return c, a.keepCut(ctx, key, c)
}

func (a *App) keepCut(ctx context.Context, key store.Key, c cutMesh) error {
	var b bytes.Buffer
	if err := gob.NewEncoder(&b).Encode(c); err != nil {
		return fmt.Errorf("keeping the sections of a mesh: %w", err)
	}
	return a.store.KeepAssessment(ctx, key, b.Bytes())
}

func newCut(r ReadPassage) cutMesh {
	return cutMesh{Stations: r.Passage.Stations(), Words: mendingWords(*r.Mending), Warnings: r.Mending.Warnings, View: viewOf(r.Mesh, r.Passage)}
}

func mendingWords(m passage.Mending) []string {
	var out []string
	say := func(n int, one, many string) {
		switch {
		case n == 1:
			out = append(out, "one "+one)
		case n > 1:
			out = append(out, fmt.Sprintf("%d %s", n, many))
		}
	}
	say(m.Flipped, "triangle turned over", "triangles turned over")
	say(m.Doubled, "doubled triangle left out", "doubled triangles left out")
	say(m.HolesClosed, fmt.Sprintf("hole closed, %.1f mm wide", 1e3*m.WidestHole), fmt.Sprintf("holes closed, the widest %.1f mm wide", 1e3*m.WidestHole))
	say(len(m.OpenEnds), "open end capped", "open ends capped")
	if m.Smoothed {
		out = append(out, fmt.Sprintf("smoothed: the surface scatters by %.2f mm", 1e3*m.Noise))
	}
	for _, s := range m.Strays {
		out = append(out, "left out: "+s)
	}
	return out
}

// meshSheet writes the stations cut from a mesh as a file of the job's folder.
func meshSheet(note string, st []passage.Station) string {
	var b bytes.Buffer
	b.WriteString(note + "s_mm,shape,area_mm2,perimeter_mm,width_mm,height_mm,wall_mm,x_mm,y_mm,z_mm\n")
	for _, s := range st {
		wall := ""
		if s.Wall > 0 {
			wall = fmt.Sprintf("%.5g", 1e3*s.Wall)
		}
		fmt.Fprintf(&b, "%.8g,area,%.8g,%.8g,%.6g,%.6g,%s,%.8g,%.8g,%.8g\n", 1e3*s.At, 1e6*s.Area, 1e3*s.Perimeter, 1e3*s.Width, 1e3*s.Height, wall, 1e3*s.Centre[0], 1e3*s.Centre[1], 1e3*s.Centre[2])
	}
	return b.String()
}
