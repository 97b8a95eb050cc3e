package repo_test

import (
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var roomLine = regexp.MustCompile("(?m)^    ([a-z0-9_/]+)/ {2,}")

// ARCHITECTURE.md names every package, and every package it names is there.
func TestEveryRoomIsOnTheMap(t *testing.T) {
	text := read(t, "ARCHITECTURE.md")
	named := map[string]bool{}
	for _, m := range roomLine.FindAllStringSubmatch(text, -1) {
		named[m[1]] = true
	}
	have := packages(t)
	for dir := range have {
		if !named[dir] {
			t.Errorf("ARCHITECTURE.md does not name package %s", dir)
		}
	}
	for dir := range named {
		if _, ok := have[dir]; ok {
			continue
		}
		if st, err := os.Stat(filepath.Join(root, dir)); err != nil || !st.IsDir() {
			t.Errorf("ARCHITECTURE.md names %s, which is not there", dir)
		}
	}
}

// No tracked text names a path of one machine, or a paper that is not in the repository: a comment cites what was published.
func TestNoMachinePaths(t *testing.T) {
	bad := regexp.MustCompile(`/work/(main|shared|\.library)|/root/|proxy\.golang\.org|\.\./shared/|LITERATURE|literature report`)
	out, err := exec.CommandContext(t.Context(), "git", "-C", root, "ls-files").Output()
	if err != nil {
		t.Skip("not a git checkout")
	}
	for name := range strings.Lines(string(out)) {
		name = strings.TrimSpace(name)
		if strings.HasSuffix(name, "map_test.go") || strings.HasSuffix(name, "go.sum") {
			continue
		}
		st, err := os.Stat(filepath.Join(root, name))
		if err != nil || st.Mode()&fs.ModeType != 0 || st.Size() > 2<<20 {
			continue
		}
		b, err := os.ReadFile(filepath.Join(root, name))
		if err != nil {
			t.Fatal(err)
		}
		if m := bad.Find(b); m != nil {
			t.Errorf("%s names %q, which others have not", name, m)
		}
	}
}

var pageLink = regexp.MustCompile(`\]\(([^)#\s]+)[^)]*\)`)

// What a page links to is there.
func TestLinksLead(t *testing.T) {
	seen := 0
	err := filepath.WalkDir(root, func(name string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && name != root || d.Name() == "bin") {
			return fs.SkipDir
		}
		if filepath.Ext(name) != ".md" {
			return nil
		}
		b, err := os.ReadFile(name)
		if err != nil {
			return err
		}
		for _, m := range pageLink.FindAllStringSubmatch(string(b), -1) {
			if strings.Contains(m[1], "://") || strings.HasPrefix(m[1], "mailto:") {
				continue
			}
			seen++
			if _, err := os.Stat(filepath.Join(filepath.Dir(name), m[1])); err != nil {
				t.Errorf("%s links to %s, which is not there", name, m[1])
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if seen < 8 {
		t.Errorf("only %d links found", seen)
	}
}
