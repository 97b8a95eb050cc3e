package app_test

import (
	"archive/zip"
	"bytes"
	"io"
	"os"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// exported is the zip of a job as a folder that can be edited.
func exported(t *testing.T, a *app.App) fstest.MapFS {
	t.Helper()
	var b bytes.Buffer
	if err := a.ExportZip(t.Context(), sixRunners, 0, &b); err != nil {
		t.Fatal(err)
	}
	z, err := zip.NewReader(bytes.NewReader(b.Bytes()), int64(b.Len()))
	if err != nil {
		t.Fatal(err)
	}
	out := fstest.MapFS{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		data, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		out[f.Name] = &fstest.MapFile{Data: data}
	}
	return out
}

// A job that is exported and imported elsewhere has its meshes and pictures, and the same sections with the same outlines, although the
// meshes have other numbers there. Imported twice it has them once.
func TestScansTravel(t *testing.T) {
	a := passages(t)
	mesh, err := os.ReadFile("../../passage/testdata/meshes/sbend_ellipse.stl")
	if err != nil {
		t.Fatal(err)
	}
	if err := a.AddMesh(t.Context(), placed("2", "finished"), "Mould no. 2.stl", mesh, app.MeshReading{Unit: "mm", Stations: 25, Reverse: true, HoleLimit: 0.012}); err != nil {
		t.Fatal(err)
	}
	if _, err := a.AddPicture(t.Context(), placed("3", "received"), "slice.png", slicePicture(t), "40 mm", "600 dpi"); err != nil {
		t.Fatal(err)
	}
	want := passageOf(t, a, "2").States[0]
	n, size, err := a.ScansSize(t.Context(), sixRunners)
	if err != nil || n != 2 || size <= int64(len(mesh)) {
		t.Errorf("%d scans of %d bytes, %v", n, size, err)
	}
	folder := exported(t, a)

	b := passages(t)
	// Another mesh is there first, so that numbers differ.
	if err := b.AddMesh(t.Context(), placed("5", "received"), "other.stl", mesh, app.MeshReading{Unit: "mm"}); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if _, err := b.ImportFolder(t.Context(), folder); err != nil {
			t.Fatal(err)
		}
	}
	book := passageOf(t, b, "2")
	got := book.States[0]
	if got.MeshFile != "Mould no. 2.stl" || got.MeshID == want.MeshID || got.Source != "mesh" || got.Text != want.Text {
		t.Errorf("mesh %q, number %d, source %s", got.MeshFile, got.MeshID, got.Source)
	}
	x, y := want.Passage.Stations(), got.Passage.Stations()
	if len(x) != 25 || len(x) != len(y) {
		t.Fatalf("%d and %d sections", len(x), len(y))
	}
	for i := range x {
		if x[i].At != y[i].At || x[i].Area != y[i].Area || len(x[i].Outline) < 10 || !slices.Equal(x[i].Outline, y[i].Outline) || x[i].Centre != y[i].Centre {
			t.Errorf("section %d is another", i+1)
		}
	}
	if pics := passageOf(t, b, "3").Pictures; len(pics) != 1 || pics[0].Scale != "600 dpi" || pics[0].Area != passageOf(t, a, "3").Pictures[0].Area {
		t.Errorf("%d pictures, or another scale or area", len(pics))
	}
	if n, _, err := b.ScansSize(t.Context(), sixRunners); err != nil || n != 3 {
		t.Errorf("%d scans, %v: want the two and the one that was there", n, err)
	}
	if again := exported(t, b); len(again) != len(folder)+1 {
		t.Errorf("%d files, want %d", len(again), len(folder)+1)
	}
}

// A folder whose scans are not whole is refused before anything is kept.
func TestScansNotWhole(t *testing.T) {
	a := passages(t)
	mesh, err := os.ReadFile("../../passage/testdata/meshes/cylinder.stl")
	if err != nil {
		t.Fatal(err)
	}
	if err := a.AddMesh(t.Context(), placed("2", "received"), "m.stl", mesh, app.MeshReading{Unit: "mm"}); err != nil {
		t.Fatal(err)
	}
	folder := exported(t, a)
	const list = sixRunners + "/scans/scans.json"
	var file string
	for name := range folder {
		if strings.HasSuffix(name, ".stl") {
			file = name
		}
	}
	whole, cards := folder[file], folder[list]
	for says, spoil := range map[string]func(){
		"there is no file": func() { delete(folder, file) },
		"did not arrive":   func() { folder[file] = &fstest.MapFile{Data: whole.Data[:100]} },
		"cannot be read":   func() { folder[list] = &fstest.MapFile{Data: []byte("[{")} },
		"write mesh": func() {
			folder[list] = &fstest.MapFile{Data: bytes.Replace(cards.Data, []byte(`"kind": "mesh"`), []byte(`"kind": "cat"`), 1)}
		},
		"has no opening \"x": func() {
			folder[list] = &fstest.MapFile{Data: bytes.Replace(cards.Data, []byte(`"opening": "2"`), []byte(`"opening": "x"`), 1)}
		},
	} {
		folder[file], folder[list] = whole, cards
		spoil()
		b := temp(t, quick())
		_, err := b.ImportFolder(t.Context(), folder)
		if fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), says) {
			t.Errorf("%s: %v", says, err)
		}
		if jobs, err := b.Jobs(t.Context()); err != nil || len(jobs) != 0 {
			t.Errorf("%s: %d jobs were kept, %v", says, len(jobs), err)
		}
	}
}
