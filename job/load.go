package job

import (
	"errors"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
)

// Names in a job folder.
const (
	jobFile      = "job.toml"
	benchFile    = "bench.toml"
	sittingsDir  = "sittings"
	tracesDir    = "traces"
	sectionsDir  = "sections"
	folderLimit  = 10_000 // most files read of one kind
	missingWrite = "put it into the job folder"
)

// ErrOutside is what a folder answers for a name that leads out of it, so that a job never reads what is not its own.
var ErrOutside = errors.New("leads out of the job folder")

// Outside is the problem of a name for which a folder answers ErrOutside.
func Outside(name string) Problem {
	return Problem{File: name, Found: "is, or lies behind, a link that leads out of the job folder", Write: "put what the link leads to in its place"}
}

// A loader reads a job folder and gathers what is wrong with it.
type loader struct {
	fsys     fs.FS
	job      Job
	problems Problems
	decoders map[string]*decoder // by file
	broken   bool                // a file could not be parsed: names may be missing
	err      error               // the folder itself cannot be read
}

// Load reads a job folder. Everything wrong with it is listed at once: the error is a Problems, found with errors.As.
// Any other error means that the folder could not be read at all.
func Load(fsys fs.FS) (Job, error) {
	l := &loader{fsys: fsys, decoders: map[string]*decoder{}}
	l.toml(jobFile, &l.job)
	l.toml(benchFile, &l.job.Bench)
	l.sittings()
	l.traces()
	l.sections()
	if l.err != nil {
		return Job{}, l.err
	}
	if !l.broken {
		c := &checker{job: &l.job, place: l.place, given: l.given}
		c.tell(l.problems)
		c.all()
		l.problems = append(l.problems, c.problems...)
	}
	if err := l.problems.sorted().err(); err != nil {
		return Job{}, err
	}
	return l.job, nil
}

// LoadEngine reads a stand-alone engine file, whose keys stand under [engine]. name is used in messages.
func LoadEngine(name string, data []byte) (Engine, error) {
	var file struct {
		Engine *Engine `toml:"engine" need:"yes"`
	}
	src, ps := tomlSource(name, data)
	if len(ps) > 0 {
		return Engine{}, ps.err()
	}
	d := decode(src, &file)
	ps = d.problems
	if !d.broken && file.Engine != nil {
		c := &checker{job: &Job{Engine: file.Engine}, place: func(_, key string) (int, int) { return d.place(key) }, given: func(_, key string) bool { return d.given(key) }}
		c.tell(ps)
		c.walkEngine(name)
		ps = append(ps, c.problems...)
	}
	if err := ps.sorted().err(); err != nil {
		return Engine{}, err
	}
	return *file.Engine, nil
}

func tomlSource(name string, data []byte) (*source, Problems) {
	if len(data) > fileLimit {
		return nil, Problems{{File: name, Found: errTooLarge.Error(), Write: "split it or leave out what is not needed"}}
	}
	return newSource(name, data)
}

// place returns line and column of a key of a file, or of the nearest table around it.
func (l *loader) place(file, key string) (line, column int) {
	if d := l.decoders[file]; d != nil {
		return d.place(key)
	}
	return 0, 0
}

// given reports whether a key of a file is written.
func (l *loader) given(file, key string) bool {
	d := l.decoders[file]
	return d != nil && d.given(key)
}

func (d *decoder) given(key string) bool {
	_, ok := d.where[key]
	return ok
}

func (d *decoder) place(key string) (line, column int) {
	for {
		if at, ok := d.where[key]; ok {
			return d.src.place(at)
		}
		cut := strings.LastIndexAny(key, ".[")
		if cut < 0 {
			return 1, 1
		}
		key = key[:cut]
	}
}

// read returns a file of the folder. A missing file and one that is too large are problems of the input.
func (l *loader) read(name string) ([]byte, bool) {
	f, err := l.fsys.Open(name)
	if errors.Is(err, fs.ErrNotExist) {
		l.problems = append(l.problems, Problem{File: name, Found: "the file is missing", Write: missingWrite})
		return nil, false
	}
	if errors.Is(err, ErrOutside) {
		l.problems = append(l.problems, Outside(name))
		return nil, false
	}
	if err != nil {
		l.fatal(err)
		return nil, false
	}
	defer func() { _ = f.Close() }() // it was only read
	info, err := f.Stat()
	if err == nil && info.IsDir() {
		l.problems = append(l.problems, Problem{File: name, Found: "is a folder", Write: "put a file of this name there"})
		return nil, false
	}
	data, err := readAll(f)
	switch {
	case errors.Is(err, errTooLarge):
		l.problems = append(l.problems, Problem{File: name, Found: err.Error(), Write: "split it or leave out what is not needed"})
		return nil, false
	case err != nil:
		l.fatal(err)
		return nil, false
	}
	return data, true
}

func (l *loader) fatal(err error) {
	if l.err == nil {
		l.err = fmt.Errorf("reading the job folder: %w", err)
	}
}

func (l *loader) toml(name string, into any) bool {
	data, ok := l.read(name)
	if !ok {
		l.broken = true
		return false
	}
	src, ps := tomlSource(name, data)
	l.problems = append(l.problems, ps...)
	if len(ps) > 0 {
		l.broken = true
		return false
	}
	d := decode(src, into)
	l.decoders[name] = d
	l.problems = append(l.problems, d.problems...)
	l.broken = l.broken || d.broken
	return true
}

// list names the files of a directory with an extension, in order. A missing directory is empty.
func (l *loader) list(dir, ext string) []string {
	entries, err := fs.ReadDir(l.fsys, dir)
	if errors.Is(err, ErrOutside) {
		l.problems = append(l.problems, Outside(dir))
		return nil
	}
	if err != nil {
		if !errors.Is(err, fs.ErrNotExist) {
			l.fatal(err)
		}
		return nil
	}
	var names []string
	for _, e := range entries {
		if !e.IsDir() && path.Ext(e.Name()) == ext && !strings.HasPrefix(e.Name(), ".") {
			names = append(names, path.Join(dir, e.Name()))
		}
	}
	if len(names) > folderLimit {
		l.problems = append(l.problems, Problem{File: dir, Found: fmt.Sprintf("holds %d files", len(names)), Write: fmt.Sprintf("keep at most %d files in it", folderLimit)})
		names = names[:folderLimit]
	}
	slices.Sort(names)
	return names
}

func (l *loader) sittings() {
	for _, name := range l.list(sittingsDir, ".toml") {
		s := Sitting{File: name}
		if l.toml(name, &s) {
			l.job.Sittings = append(l.job.Sittings, s)
		}
	}
}

// traces yields every trace a sitting names, with the key that names it.
func (s *Sitting) traces() func(yield func(name, key string) bool) {
	return func(yield func(name, key string) bool) {
		for i, p := range s.Leakage {
			if p.Trace != "" && !yield(p.Trace, fmt.Sprintf("leakage[%d].trace", i)) {
				return
			}
		}
		for i, p := range s.Checks {
			if p.Trace != "" && !yield(p.Trace, fmt.Sprintf("check[%d].trace", i)) {
				return
			}
		}
		for i, r := range s.Readings {
			if r.Trace != "" && !yield(r.Trace, fmt.Sprintf("readings[%d].trace", i)) {
				return
			}
		}
	}
}
