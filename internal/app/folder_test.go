package app_test

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
)

// A job reads nothing that is not its own: a link within its folder is followed, one that leads out is refused by name, whether the
// file or the folder around it is the link, and whether what it leads to is good or not.
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
	} {
		t.Run(c.name, func(t *testing.T) {
			dir, outside := copied(t)
			c.make(t, dir, outside)
			_, err := app.LoadFolder(dir)
			if c.want == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			ps, ok := errors.AsType[job.Problems](err)
			if !ok || fault.KindOf(err) != fault.Invalid || !strings.Contains(err.Error(), "out of the job folder") {
				t.Fatalf("%v", err)
			}
			for _, p := range ps {
				if p.File == c.want && strings.Contains(p.Found, "link") {
					return
				}
			}
			t.Errorf("no problem at %s: %v", c.want, err)
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
