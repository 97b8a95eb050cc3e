package repo_test

import (
	"slices"
	"strings"
	"testing"
)

// layers is the import direction: a package imports only from lines above its own. The same list stands in
// ARCHITECTURE.md, and TestLayersAreInArchitecture holds the two together.
var layers = [][]string{
	{"unit", "internal/fault", "internal/tabletest"},
	{"measure", "gas", "hunt", "wave/riemann"},
	{"meter", "passage", "wave"},
	{"job"},
	{"bench", "tract", "engine"},
	{"assess"},
	{"validation"},
	{"internal/capture", "internal/store", "internal/plot", "internal/live", "internal/task", "demo"},
	{"internal/handover"},
	{"internal/app"},
	{"internal/api", "internal/web"},
	{"internal/cli"},
	{"cmd", "examples", "internal/repo"},
}

// pure packages compute only.
var pure = []string{"unit", "measure", "gas", "hunt", "wave", "meter", "passage", "job", "bench", "tract", "engine", "assess"}

func layerOf(dir string) int {
	for i, line := range layers {
		if slices.Contains(line, dir) {
			return i
		}
	}
	for i, line := range layers {
		for _, room := range line {
			if strings.HasPrefix(dir, room+"/") {
				return i
			}
		}
	}
	return -1
}

func room(dir string) string {
	best := ""
	for _, line := range layers {
		for _, r := range line {
			if (dir == r || strings.HasPrefix(dir, r+"/")) && len(r) > len(best) {
				best = r
			}
		}
	}
	return best
}

func TestImportDirection(t *testing.T) {
	for dir, p := range packages(t) {
		here := layerOf(dir)
		if here < 0 {
			t.Errorf("package %s stands in no layer: place it in ARCHITECTURE.md and in layers", dir)
			continue
		}
		for name, f := range p.files {
			for _, imp := range f.Imports {
				path := strings.Trim(imp.Path.Value, `"`)
				to, ok := strings.CutPrefix(path, "runnel/")
				if !ok || room(to) == room(dir) {
					continue
				}
				if there := layerOf(to); there < 0 || there >= here {
					t.Errorf("%s/%s imports %s, which does not stand above it", dir, name, to)
				}
			}
		}
	}
}

func TestPurePackages(t *testing.T) {
	denied := []string{"os", "net", "net/http", "database/sql", "log", "log/slog", "math/rand", "os/exec", "syscall"}
	for dir, p := range packages(t) {
		isPure := false
		for _, r := range pure {
			isPure = isPure || room(dir) == r || (r == "wave" && room(dir) == "wave/riemann")
		}
		if !isPure {
			continue
		}
		for name, f := range p.files {
			for _, imp := range f.Imports {
				path := strings.Trim(imp.Path.Value, `"`)
				for _, d := range denied {
					if path == d {
						t.Errorf("%s/%s imports %s: pure packages compute only", dir, name, path)
					}
				}
				if strings.HasPrefix(path, "runnel/internal/") && path != "runnel/internal/fault" {
					t.Errorf("%s/%s imports %s: pure packages know no adapter", dir, name, path)
				}
			}
		}
	}
}

func TestLayersAreInArchitecture(t *testing.T) {
	text := read(t, "ARCHITECTURE.md")
	for _, line := range layers {
		want := "    " + strings.Join(line, "  ")
		if !strings.Contains(text, want+"\n") {
			t.Errorf("ARCHITECTURE.md does not hold the layer line %q", want)
		}
	}
}
