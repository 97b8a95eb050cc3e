package repo_test

import (
	"go/ast"
	"go/token"
	"regexp"
	"strings"
	"testing"
)

var (
	unitInBrackets = regexp.MustCompile(`\[[^\]\s][^\]]*\]`)
	inUnit         = regexp.MustCompile(`in (its |the )?(own )?[Uu]nit`)
)

// Every exported float64 field and constant names its unit in brackets, in its own comment.
func TestUnitsInComments(t *testing.T) {
	seen := 0
	for dir, p := range packages(t) {
		for name, f := range p.files {
			ast.Inspect(f, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.TypeSpec:
					s, ok := n.Type.(*ast.StructType)
					if !ok || !n.Name.IsExported() {
						return true
					}
					for _, field := range s.Fields.List {
						if !isFloat(field.Type) || !anyExported(field.Names) {
							continue
						}
						seen++
						if !hasUnit(field.Doc, field.Comment) {
							t.Errorf("%s/%s: %s.%s has no unit in its comment", dir, name, n.Name.Name, field.Names[0].Name)
						}
					}
				case *ast.GenDecl:
					if n.Tok != token.CONST {
						return true
					}
					for _, spec := range n.Specs {
						v := spec.(*ast.ValueSpec)
						if anyExported(v.Names) && floatConst(v) {
							seen++
							if !hasUnit(v.Doc, v.Comment) && !hasUnit(n.Doc, nil) {
								t.Errorf("%s/%s: constant %s has no unit in its comment", dir, name, v.Names[0].Name)
							}
						}
					}
				}
				return true
			})
		}
	}
	if seen < 50 {
		t.Fatalf("only %d exported floats seen: the test is blind", seen)
	}
}

func isFloat(e ast.Expr) bool {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name == "float64"
	case *ast.StarExpr:
		return isFloat(e.X)
	case *ast.ArrayType:
		return isFloat(e.Elt)
	}
	return false
}

func floatConst(v *ast.ValueSpec) bool {
	if v.Type != nil {
		return isFloat(v.Type)
	}
	for _, e := range v.Values {
		if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.FLOAT {
			return true
		}
	}
	return false
}

func anyExported(names []*ast.Ident) bool {
	for _, n := range names {
		if n.IsExported() {
			return true
		}
	}
	return false
}

func hasUnit(groups ...*ast.CommentGroup) bool {
	for _, g := range groups {
		if g != nil && (unitInBrackets.MatchString(g.Text()) || inUnit.MatchString(g.Text())) {
			return true
		}
	}
	return false
}

// Every package has exactly one package comment.
func TestPackageComments(t *testing.T) {
	for dir, p := range packages(t) {
		var with []string
		for name, f := range p.files {
			if f.Doc != nil {
				with = append(with, name)
				want := "Package " + f.Name.Name + " "
				if f.Name.Name == "main" {
					want = "Command "
				}
				if !strings.HasPrefix(f.Doc.Text(), want) {
					t.Errorf("%s/%s: package comment does not start with %q", dir, name, want)
				}
			}
		}
		if len(with) != 1 {
			t.Errorf("%s has %d package comments (%s), not one", dir, len(with), strings.Join(with, ", "))
		}
	}
}
