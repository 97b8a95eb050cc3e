package app_test

import (
	"archive/zip"
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A job reads nothing that is not its own: a link within its folder is followed, one that leads out is refused by name, whether the
// file or the folder around it is the link, and whether what it leads to is good or not. To read a folder and to import it say the same.
func TestLinksStayInTheFolder(t *testing.T) {
	copied := func(t *testing.T) (dir, outside string) {
		t.Helper()
		dir, outside = filepath.Join(t.TempDir(), "job"), t.TempDir()
		if err := os.CopyFS(dir, os.DirFS("../web/testdata/six")); err != nil {
			t.Fatal(err)
		}
		return dir, outside
	}
	link := func(t *testing.T, to, name string) {
		t.Helper()
		if err := os.Symlink(to, name); err != nil {
			t.Skipf("this file system has no links: %v", err)
		}
	}
	move := func(t *testing.T, from, to string) {
		t.Helper()
		if err := os.Rename(from, to); err != nil {
			t.Fatal(err)
		}
	}
	const trace = "traces/r01.csv"
	for _, c := range []struct {
		name string
		make func(t *testing.T, dir, outside string)
		want string // problem's file; empty: it loads
	}{
		{"a file beside it", func(t *testing.T, dir, _ string) {
			move(t, filepath.Join(dir, trace), filepath.Join(dir, "traces", "kept.csv"))
			link(t, "kept.csv", filepath.Join(dir, trace))
		}, ""},
		{"a file outside", func(t *testing.T, dir, outside string) {
			move(t, filepath.Join(dir, trace), filepath.Join(outside, "r01.csv"))
			link(t, filepath.Join(outside, "r01.csv"), filepath.Join(dir, trace))
		}, trace},
		{"a file outside by dots", func(t *testing.T, dir, _ string) {
			move(t, filepath.Join(dir, trace), filepath.Join(dir, "..", "r01.csv"))
			link(t, "../../r01.csv", filepath.Join(dir, trace))
		}, trace},
		{"a folder outside", func(t *testing.T, dir, outside string) {
			move(t, filepath.Join(dir, "sittings"), filepath.Join(outside, "sittings"))
			link(t, filepath.Join(outside, "sittings"), filepath.Join(dir, "sittings"))
		}, "sittings"},
		{"a folder beside it", func(t *testing.T, dir, _ string) {
			move(t, filepath.Join(dir, "traces"), filepath.Join(dir, "kept"))
			link(t, "kept", filepath.Join(dir, "traces"))
		}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, outside := copied(t)
			c.make(t, dir, outside)
			const says = "is, or lies behind, a link that leads out of the job folder"
			_, read := app.LoadFolder(dir)
			a := open(t, filepath.Join(t.TempDir(), "runnel.db"), quick())
			_, imported := a.ImportPath(t.Context(), dir)
			_, above := a.ImportPath(t.Context(), filepath.Dir(dir)) // a job folder that lies deeper ends where it ends
			for how, err := range map[string]error{"read": read, "imported": imported, "imported from above": above} {
				if c.want == "" {
					if err != nil {
						t.Errorf("%s: %v", how, err)
					}
					continue
				}
				ps, ok := errors.AsType[job.Problems](err)
				if !ok || fault.KindOf(err) != fault.Invalid || !slices.ContainsFunc(ps, func(p job.Problem) bool { return p.File == c.want && p.Found == says }) {
					t.Errorf("%s: no problem %q at %s: %v", how, says, c.want, err)
				}
			}
		})
	}
}

// The folder itself may be reached by a link: who asks for it means it.
func TestLinkToTheFolder(t *testing.T) {
	link := filepath.Join(t.TempDir(), "job")
	here, err := filepath.Abs("../web/testdata/six")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Symlink(here, link); err != nil {
		t.Skipf("this file system has no links: %v", err)
	}
	if _, err := app.LoadFolder(link); err != nil {
		t.Error(err)
	}
}

// A zip holds the name a link leads to and not what is there: the link is named, and not the file called missing.
func TestLinkInAZip(t *testing.T) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	if err := z.AddFS(os.DirFS("../web/testdata/six")); err != nil {
		t.Fatal(err)
	}
	head := &zip.FileHeader{Name: "traces/other.csv"}
	head.SetMode(fs.ModeSymlink | 0o777)
	w, err := z.CreateHeader(head)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := w.Write([]byte("/etc/hostname")); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	a := open(t, filepath.Join(t.TempDir(), "runnel.db"), quick())
	_, err = a.ImportZip(t.Context(), bytes.NewReader(b.Bytes()), int64(b.Len()))
	ps, ok := errors.AsType[job.Problems](err)
	if !ok || len(ps) != 1 || ps[0].File != "traces/other.csv" || ps[0].Found != "is a link, which leads nowhere from inside a zip" {
		t.Errorf("%v", err)
	}
}
