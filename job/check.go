package job

import (
	"fmt"
	"reflect"
	"regexp"
	"slices"
	"strconv"

	"runnel/unit"
)

// Check returns what is wrong with a job that was not read from a folder: names that are given twice or point nowhere,
// words that are not allowed, set-ups that cannot be. Keys say where. Load makes the same checks and knows the lines.
func (j Job) Check() Problems {
	c := &checker{job: &j, needs: true, place: func(string, string) (int, int) { return 0, 0 }}
	c.all()
	return c.problems.sorted()
}

// A checker looks at a whole job after it has been read.
type checker struct {
	job      *Job
	needs    bool // look for missing texts, too; a decoder has done so already
	place    func(file, key string) (line, column int)
	given    func(file, key string) bool // whether a key is written; nil when the job is from no folder
	told     map[spot]bool               // what a decoder has found wrong already
	problems Problems
	ids      map[string]map[string]spot // list → name → where it is given
	refs     []ref
}

// tell notes what a decoder found, so that one fault gives one message.
func (c *checker) tell(ps Problems) {
	c.told = map[spot]bool{}
	for _, p := range ps {
		c.told[spot{p.File, p.Key}] = true
	}
}

// A spot is where a value stands.
type spot struct{ file, key string }

type ref struct {
	spot
	list, name string
}

func (c *checker) add(file, key, found, write string) {
	if c.told[spot{file, key}] {
		return
	}
	line, column := c.place(file, key)
	c.problems = append(c.problems, Problem{File: file, Line: line, Column: column, Key: key, Found: found, Write: write})
}

func (c *checker) all() {
	c.ids = map[string]map[string]spot{}
	c.walk(reflect.ValueOf(c.job).Elem(), jobFile, "")
	c.walk(reflect.ValueOf(&c.job.Bench).Elem(), benchFile, "")
	for i := range c.job.Sittings {
		c.walk(reflect.ValueOf(&c.job.Sittings[i]).Elem(), c.job.Sittings[i].File, "")
	}
	c.resolve()
	c.facts()
	c.bench()
	for i := range c.job.Sittings {
		c.sitting(&c.job.Sittings[i])
	}
	c.sameTrace()
	if c.job.Engine != nil {
		c.engine(jobFile)
	}
}

// walkEngine checks an engine that stands alone in a file.
func (c *checker) walkEngine(file string) {
	c.ids = map[string]map[string]spot{}
	c.walk(reflect.ValueOf(c.job.Engine).Elem(), file, "engine")
	for _, r := range c.refs {
		c.add(r.file, r.key, fmt.Sprintf("%q cannot name one of the %s of a job: the engine stands alone", r.name, r.list), "leave the key out")
	}
	c.engine(file)
}

// walk looks at the tags of every field.
func (c *checker) walk(v reflect.Value, file, path string) {
	for _, f := range fields(v.Type()) {
		x := v.Field(f.at)
		at := under(path, f.key)
		//exhaustive:ignore
		switch x.Kind() {
		case reflect.String:
			c.word(f, x.String(), file, at)
		case reflect.Struct:
			if x.Type() != timeType {
				c.walk(x, file, at)
			}
		case reflect.Pointer:
			if !x.IsNil() && x.Elem().Kind() == reflect.Struct {
				c.walk(x.Elem(), file, at)
			}
		case reflect.Slice:
			if c.needs && f.need && x.Len() == 0 {
				c.add(file, at, fmt.Sprintf("key %q is missing", f.key), "write "+f.example(x.Type()))
			}
			for i := range x.Len() {
				item := at + "[" + strconv.Itoa(i) + "]"
				//exhaustive:ignore
				switch x.Type().Elem().Kind() {
				case reflect.Struct:
					c.walk(x.Index(i), file, item)
				case reflect.String:
					c.word(f, x.Index(i).String(), file, item)
				default: // numbers have no names
				}
			}
		default: // numbers and maps are looked at where they matter
		}
	}
}

var properName = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9._-]*$`)

// word checks one text against the tags of its field.
func (c *checker) word(f field, s, file, key string) {
	if s == "" {
		if c.needs && f.need {
			c.add(file, key, fmt.Sprintf("key %q is missing", f.key), "write "+f.example(reflect.TypeFor[string]()))
		}
		if !c.needs && f.need && (f.id != "" || f.ref != "") {
			c.add(file, key, f.key+" is empty text", "write a name")
		}
		return
	}
	if len(f.oneof) > 0 && !slices.Contains(f.oneof, s) {
		write := "write " + choices(f.oneof)
		if near, ok := closest(s, f.oneof); ok {
			write = fmt.Sprintf("write %q", near)
		}
		c.add(file, key, fmt.Sprintf("%s: %q is not known", f.key, clip(s)), write)
	}
	if f.ref != "" {
		c.refs = append(c.refs, ref{spot{file, key}, f.ref, s})
	}
	if f.id == "" {
		return
	}
	if !properName.MatchString(s) {
		c.add(file, key, fmt.Sprintf("%s: %q is no name", f.key, clip(s)), "write letters, digits, dashes, dots and underscores, without spaces")
	}
	if c.ids[f.id] == nil {
		c.ids[f.id] = map[string]spot{}
	}
	if was, twice := c.ids[f.id][s]; twice {
		c.add(file, key, fmt.Sprintf("%s %q is given again among the %s; it stands already at %s", f.key, s, f.id, c.show(was)), "give every one a name of its own")
		return
	}
	c.ids[f.id][s] = spot{file, key}
}

func (c *checker) show(s spot) string {
	if line, _ := c.place(s.file, s.key); line > 0 {
		return fmt.Sprintf("%s:%d", s.file, line)
	}
	return s.file + " " + s.key
}

// resolve looks every reference up.
func (c *checker) resolve() {
	for _, r := range c.refs {
		if _, ok := c.ids[r.list][r.name]; ok {
			continue
		}
		var names []string
		for n := range c.ids[r.list] {
			names = append(names, n)
		}
		slices.Sort(names)
		write := "write " + choices(names)
		if near, ok := closest(r.name, names); ok {
			write = fmt.Sprintf("write %q", near)
		} else if len(names) == 0 {
			write = "describe it in [[" + r.list + "]]"
		} else if len(names) > 12 {
			write = fmt.Sprintf("write one of the %d names there, such as %q", len(names), names[0])
		}
		c.add(r.file, r.key, fmt.Sprintf("%q is none of the %s", clip(r.name), r.list), write)
	}
}

// quantityOf reads a quantity of any dimension that has the named unit: "1.2 Pa".
func quantityOf(text string) (unit.Dimension, float64, error) {
	for _, d := range unit.All() {
		if v, err := d.Parse(text); err == nil {
			return d, v, nil
		}
	}
	return unit.Dimension{}, 0, fmt.Errorf("%q is not a number with a unit", clip(text))
}
