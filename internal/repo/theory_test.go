package repo_test

import (
	"go/ast"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var goName = regexp.MustCompile("`([a-z]+(?:/[a-z]+)*)\\.([A-Z]\\w*)(?:\\.([A-Z]\\w*))?`")

// Every Go name that a page of docs/theory gives in backquotes is there: `meter.OrificeC`, `measure.Budget.Combined`.
func TestTheoryNamesAreThere(t *testing.T) {
	pages, err := filepath.Glob(filepath.Join(root, "docs/theory/*.md"))
	if err != nil || len(pages) == 0 {
		t.Fatalf("no pages: %v", err)
	}
	have := exportedNames(t)
	checked := 0
	for _, page := range pages {
		text, err := os.ReadFile(page)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range goName.FindAllStringSubmatch(string(text), -1) {
			name := m[1] + "." + m[2]
			if m[3] != "" {
				name += "." + m[3]
			}
			checked++
			if !have[name] {
				t.Errorf("%s names %s, which is not there", filepath.Base(page), name)
			}
		}
	}
	if checked < 30 {
		t.Fatalf("only %d names: the test is blind", checked)
	}
}

// exportedNames lists "package.Name", "package.Type.Method" and "package.Type.Field" of every package.
func exportedNames(t *testing.T) map[string]bool {
	t.Helper()
	out := map[string]bool{}
	for dir, p := range packages(t) {
		for _, short := range []string{dir, dir[strings.LastIndex(dir, "/")+1:]} {
			for _, f := range p.files {
				for _, d := range f.Decls {
					addNames(out, short, d)
				}
			}
		}
	}
	return out
}

func addNames(out map[string]bool, pkg string, d ast.Decl) {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Recv == nil {
			out[pkg+"."+d.Name.Name] = true
			return
		}
		recv := d.Recv.List[0].Type
		if star, ok := recv.(*ast.StarExpr); ok {
			recv = star.X
		}
		if id, ok := recv.(*ast.Ident); ok {
			out[pkg+"."+id.Name+"."+d.Name.Name] = true
		}
	case *ast.GenDecl:
		for _, spec := range d.Specs {
			switch s := spec.(type) {
			case *ast.TypeSpec:
				out[pkg+"."+s.Name.Name] = true
				if st, ok := s.Type.(*ast.StructType); ok {
					for _, f := range st.Fields.List {
						for _, n := range f.Names {
							out[pkg+"."+s.Name.Name+"."+n.Name] = true
						}
					}
				}
			case *ast.ValueSpec:
				for _, n := range s.Names {
					out[pkg+"."+n.Name] = true
				}
			}
		}
	}
}
