package repo_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const root = "../.."

// A pkg is one Go package of the repository as its files say it.
type pkg struct {
	dir   string // "wave/riemann"
	files map[string]*ast.File
	fset  *token.FileSet
}

// packages parses every package of the module, tests left out.
func packages(t *testing.T) map[string]pkg {
	t.Helper()
	out := map[string]pkg{}
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() {
			name := d.Name()
			if name == "testdata" || name == "tools" || name == "node_modules" || (strings.HasPrefix(name, ".") && path != root) {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		rel = filepath.ToSlash(rel)
		p, ok := out[rel]
		if !ok {
			p = pkg{dir: rel, files: map[string]*ast.File{}, fset: token.NewFileSet()}
			out[rel] = p
		}
		f, err := parser.ParseFile(p.fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		p.files[filepath.Base(path)] = f
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if len(out) < 3 {
		t.Fatalf("only %d packages found: the walk is broken", len(out))
	}
	return out
}

func read(t *testing.T, name string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, name))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}
