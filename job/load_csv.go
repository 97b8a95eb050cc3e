package job

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"unicode/utf8"

	"runnel/passage"
)

// traces reads every trace in traces/ and every other one that a sitting names.
func (l *loader) traces() {
	l.job.Traces = map[string]Trace{}
	wanted := map[string]bool{}
	for _, name := range l.list(tracesDir, ".csv") {
		wanted[name] = true
		l.trace(name)
	}
	for si := range l.job.Sittings {
		for name, key := range l.job.Sittings[si].traces() {
			if wanted[name] || !l.present(l.job.Sittings[si].File, key, name, tracesDir) {
				continue
			}
			wanted[name] = true
			l.trace(name)
		}
	}
	if len(l.job.Traces) == 0 {
		l.job.Traces = nil
	}
}

// present checks the name of a CSV file that is given under a key: inside the folder, and there. It is looked for in dir.
func (l *loader) present(file, key, name, dir string) bool {
	line, column := l.place(file, key)
	p := Problem{File: file, Line: line, Column: column, Key: key}
	switch {
	case !safePath(name) || path.Ext(name) != ".csv":
		p.Found, p.Write = fmt.Sprintf("%q is no name of a CSV file inside the job folder", name), fmt.Sprintf("write it like %q", dir+"/01.csv")
	default:
		if _, err := fs.Stat(l.fsys, name); err == nil {
			return true
		}
		p.Found, p.Write = fmt.Sprintf("file %q is missing in the job folder", name), "put the file there or mend the name"
		if near, ok := closest(name, l.list(dir, ".csv")); ok {
			p.Write = fmt.Sprintf("put the file there or write %q", near)
		}
	}
	l.problems = append(l.problems, p)
	return false
}

// safePath reports whether a name stays inside the folder on every system.
func safePath(name string) bool {
	return fs.ValidPath(name) && name != "." && !strings.ContainsAny(name, `\:`) && !strings.ContainsFunc(name, func(r rune) bool { return r < ' ' })
}

func (l *loader) trace(name string) {
	data, ok := l.read(name)
	if !ok {
		return
	}
	t, ps := readTrace(name, data)
	l.problems = append(l.problems, ps...)
	if len(ps) == 0 {
		l.job.Traces[name] = t
	}
}

// sections reads every file of stations in sections/ and every other one that a piece names.
func (l *loader) sections() {
	l.job.Sections = map[string]SectionFile{}
	wanted := map[string]bool{}
	for _, name := range l.list(sectionsDir, ".csv") {
		wanted[name] = true
		l.section(name)
	}
	for i, p := range l.job.Pieces {
		for _, opening := range slices.Sorted(maps.Keys(p.Sections)) {
			name := p.Sections[opening]
			if wanted[name] || !l.present(jobFile, fmt.Sprintf("pieces[%d].sections.%s", i, opening), name, sectionsDir) {
				continue
			}
			wanted[name] = true
			l.section(name)
		}
	}
	if len(l.job.Sections) == 0 {
		l.job.Sections = nil
	}
}

func (l *loader) section(name string) {
	data, ok := l.read(name)
	if !ok {
		return
	}
	src, ps := newSource(name, data)
	l.problems = append(l.problems, ps...)
	if len(ps) > 0 {
		return
	}
	stations, err := passage.ReadStations(bytes.NewReader(src.data), name)
	if err == nil {
		_, err = passage.New(stations)
	}
	if err != nil {
		l.problems = append(l.problems, src.stationProblems(err)...)
		return
	}
	l.job.Sections[name] = SectionFile{Text: string(src.data), Stations: stations}
}

// stationProblems turns the joined errors of package passage into problems with their places.
func (s *source) stationProblems(err error) Problems {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		var ps Problems
		for _, e := range joined.Unwrap() {
			ps = append(ps, s.stationProblems(e)...)
		}
		return ps
	}
	if e, ok := errors.AsType[*passage.CellError](err); ok {
		p := Problem{File: s.name, Line: e.Line, Column: max(e.Number, 1), Found: e.Found, Write: e.Write}
		if e.Line >= 1 && e.Line <= len(s.start) {
			p.Column = cellColumn(s.line(s.start[e.Line-1]), e.Number)
		}
		if e.Column != "" {
			p.Found = e.Column + ": " + e.Found
		}
		return Problems{p}
	}
	found, write, _ := strings.Cut(err.Error(), ": write ")
	if write != "" {
		write = "write " + write
	}
	return Problems{{File: s.name, Line: 1, Column: 1, Found: found, Write: write}}
}

// cellColumn returns the column, in characters, at which the numbered cell of a line begins.
func cellColumn(line string, number int) int {
	column := 1
	for range number - 1 {
		before, after, found := strings.Cut(line, ",")
		if !found {
			break
		}
		column += utf8.RuneCountInString(before) + 1
		line = after
	}
	return column
}
