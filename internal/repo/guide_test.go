package repo_test

import (
	"flag"
	"fmt"
	"go/ast"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"

	"runnel/job"
	"runnel/unit"
)

var update = flag.Bool("update", false, "renew the tables of the guide")

const jobFolderPage = "docs/guide/job-folder.md"

var keysBlock = regexp.MustCompile(`(?s)<!-- keys: (\w+) -->\n(.*?)<!-- end of keys -->\n`)

// The tables of the job folder's page are made from the job types themselves, so that every key is named with what may be
// written for it. "go test ./internal/repo -update" renews them.
func TestJobFolderPage(t *testing.T) {
	types := jobTypes(t)
	text := read(t, jobFolderPage)
	shown := map[string]bool{}
	renewed := keysBlock.ReplaceAllStringFunc(text, func(block string) string {
		name := keysBlock.FindStringSubmatch(block)[1]
		s, ok := types[name]
		if !ok {
			t.Errorf("%s shows the keys of %s, which package job has not", jobFolderPage, name)
			return block
		}
		shown[name] = true
		return "<!-- keys: " + name + " -->\n" + keysTable(t, s) + "<!-- end of keys -->\n"
	})
	for name := range types {
		if !shown[name] {
			t.Errorf("%s does not show the keys of %s: add a block <!-- keys: %s -->", jobFolderPage, name, name)
		}
	}
	if *update {
		if err := os.WriteFile(filepath.Join(root, jobFolderPage), []byte(renewed), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	if renewed != text {
		t.Errorf("%s is not what the job types say: run go test ./internal/repo -update", jobFolderPage)
	}
}

// jobTypes returns the structs of package job that are tables of a file.
func jobTypes(t *testing.T) map[string]*ast.StructType {
	t.Helper()
	out := map[string]*ast.StructType{}
	for _, f := range packages(t)["job"].files {
		ast.Inspect(f, func(n ast.Node) bool {
			spec, ok := n.(*ast.TypeSpec)
			if !ok || !spec.Name.IsExported() {
				return true
			}
			s, ok := spec.Type.(*ast.StructType)
			if !ok {
				return true
			}
			for _, field := range s.Fields.List {
				if key := tagOf(field, "toml"); key != "" && key != "-" {
					out[spec.Name.Name] = s
				}
			}
			return true
		})
	}
	if len(out) < 25 {
		t.Fatalf("only %d tables found in package job", len(out))
	}
	return out
}

func tagOf(f *ast.Field, key string) string {
	if f.Tag == nil {
		return ""
	}
	text, err := strconv.Unquote(f.Tag.Value)
	if err != nil {
		return ""
	}
	return reflect.StructTag(text).Get(key)
}

func keysTable(t *testing.T, s *ast.StructType) string {
	t.Helper()
	var b strings.Builder
	b.WriteString("| key | written as | what it is |\n| --- | --- | --- |\n")
	for _, f := range s.Fields.List {
		key := tagOf(f, "toml")
		if key == "" || key == "-" {
			continue
		}
		name := "`" + key + "`"
		if tagOf(f, "need") == "yes" {
			name += " **needed**"
		}
		fmt.Fprintf(&b, "| %s | %s | %s |\n", name, writtenAs(t, f), whatItIs(f))
	}
	return b.String()
}

var siUnit = regexp.MustCompile(` ?\[[^\]]*\]`)

// whatItIs is the comment of a field without the SI unit it is held in.
func whatItIs(f *ast.Field) string {
	var text string
	for _, g := range []*ast.CommentGroup{f.Doc, f.Comment} {
		if g != nil {
			text = strings.TrimSpace(g.Text())
		}
	}
	text = strings.Join(strings.Fields(siUnit.ReplaceAllString(text, "")), " ")
	text = strings.TrimLeft(text, ", ") // what was only a unit and a default
	if ref := tagOf(f, "ref"); ref != "" {
		text = strings.TrimPrefix(text+"; an id of `"+ref+"`", "; ")
	}
	return strings.ReplaceAll(text, "|", `\|`)
}

// writtenAs says how the value of a field is written.
func writtenAs(t *testing.T, f *ast.Field) string {
	t.Helper()
	if words := tagOf(f, "oneof"); words != "" {
		return "one of `\"" + strings.ReplaceAll(words, ",", "\"` `\"") + "\"`"
	}
	if dim := tagOf(f, "dim"); dim != "" {
		d, ok := unit.Named(dim)
		if !ok {
			t.Fatalf("no dimension %q", dim)
		}
		return quantityOf(d)
	}
	return kindOf(f.Type)
}

// shopUnits are the units shown for a dimension, the ones a shop would use.
func quantityOf(d unit.Dimension) string {
	shop := map[string][]string{
		"length": {"mm", "in"}, "pressure": {"Pa", "kPa", "inH2O", "inHg"}, "temperature": {"°C", "°F"}, "temperature difference": {"K", "°F"},
		"area": {"mm²", "in²"}, "volume": {"L", "cm³", "in³"}, "flow": {"cfm", "L/s", "m³/h"}, "mass flow": {"g/s", "kg/h", "lb/min"}, "angle": {"°"},
		"speed": {"rpm"}, "time": {"s", "min", "h", "d"}, "torque": {"N·m", "lbf·ft"},
	}
	if d.Name == unit.Ratio.Name {
		return "text, per cent or a plain number: `\"2 %\"` or `0.02`"
	}
	names := shop[d.Name]
	if names == nil {
		names = d.Names()
	}
	return "text with its unit (" + strings.Join(names, ", ") + "): `\"1 " + names[0] + "\"`"
}

func kindOf(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		switch e.Name {
		case "string":
			return "text in double quotes"
		case "bool":
			return "`true` or `false`"
		case "int":
			return "whole number"
		case "float64":
			return "number"
		}
		return "table, see " + e.Name + " below"
	case *ast.SelectorExpr:
		return "date or instant, without quotes: `2026-05-02` or `2026-05-02T09:30:00Z`"
	case *ast.StarExpr:
		return kindOf(e.X)
	case *ast.MapType:
		return "table of names to text"
	case *ast.ArrayType:
		inner := kindOf(e.Elt)
		if id, ok := e.Elt.(*ast.Ident); ok && ast.IsExported(id.Name) {
			return "list of tables, see " + id.Name + " below"
		}
		switch inner {
		case "text in double quotes":
			return "list of texts: `[\"1\", \"2\"]`"
		default:
			return "list of numbers: `[1, 2]`"
		}
	}
	return "value"
}

var codeBlock = regexp.MustCompile("(?s)```(?:toml)?\n# (\\S+)[^\n]*\n(.*?)```")

// The job that the page shows is one that can be read.
func TestJobFolderPageExample(t *testing.T) {
	folder := fstest.MapFS{}
	for _, m := range codeBlock.FindAllStringSubmatch(read(t, jobFolderPage), -1) {
		folder[m[1]] = &fstest.MapFile{Data: []byte(m[2])}
	}
	if len(folder) != 4 {
		t.Fatalf("%d files in the example, wanted 4", len(folder))
	}
	folder["traces/check-1.csv"] = folder["traces/r01.csv"]
	j, err := job.Load(folder)
	if err != nil {
		t.Fatal(err)
	}
	if len(j.Rounds) != 2 || len(j.Sittings) != 1 || len(j.Sittings[0].Readings) != 1 || len(j.Traces) != 2 {
		t.Errorf("%d rounds, %d sittings, %d traces", len(j.Rounds), len(j.Sittings), len(j.Traces))
	}
}
