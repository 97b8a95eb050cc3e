package job

import (
	"reflect"
	"strings"

	"runnel/unit"
)

// A field is one key of a table: the Go field behind it and what its tags ask.
type field struct {
	key   string
	at    int // index in the struct
	dim   string
	need  bool
	oneof []string
	ref   string // list whose ids the value must be one of
	id    string // list the value names an element of
	pair  string // key that this one belongs to: a 0 is written down beside it, since without it the value would be missing
	zero  string // why a 0 that is written down is refused: "never", or the smallest value that says what it means
}

// fields lists the keys of a struct type in order. A key of "-" is left out.
//
// The tags are: toml, the key; dim, the name of a dimension in package unit; need, "yes" for a key that must be there;
// oneof, the words allowed; id, the list in which the value is the element's name; ref, the list it must be a name of;
// pair, the key of an angle that has no meaning without this one;
// zero, for a number whose 0 means "not known" and takes a default: "never" where no engine has 0, else what to write for next to nothing.
func fields(t reflect.Type) []field {
	var out []field
	for i := range t.NumField() {
		f := t.Field(i)
		key := f.Tag.Get("toml")
		if key == "" || key == "-" {
			continue
		}
		var words []string
		if w := f.Tag.Get("oneof"); w != "" {
			words = strings.Split(w, ",")
		}
		out = append(out, field{
			key: key, at: i, dim: f.Tag.Get("dim"), need: f.Tag.Get("need") == "yes",
			oneof: words, ref: f.Tag.Get("ref"), id: f.Tag.Get("id"), pair: f.Tag.Get("pair"), zero: f.Tag.Get("zero"),
		})
	}
	return out
}

// dimension returns the dimension of a field; ok is false for a plain number.
func (f field) dimension() (unit.Dimension, bool) {
	if f.dim == "" {
		return unit.Dimension{}, false
	}
	d, ok := unit.Named(f.dim)
	if !ok {
		panic("job: field " + f.key + " has a dimension that package unit does not know: " + f.dim)
	}
	return d, true
}

// example writes a line that would be right for the field.
func (f field) example(t reflect.Type) string {
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch {
	case len(f.oneof) > 0:
		return f.key + ` = "` + f.oneof[0] + `"`
	case f.dim != "":
		d, _ := f.dimension()
		return f.key + ` = "` + strings.TrimSpace("1 "+customary(d)[0]) + `"`
	case t == timeType:
		return f.key + " = 2026-05-02T09:30:00Z"
	}
	//exhaustive:ignore
	switch t.Kind() {
	case reflect.String:
		return f.key + ` = "text"`
	case reflect.Bool:
		return f.key + " = true"
	case reflect.Int:
		return f.key + " = 1"
	case reflect.Float64:
		return f.key + " = 1.0"
	case reflect.Struct, reflect.Map:
		return "a table [" + f.key + "]"
	case reflect.Slice:
		//exhaustive:ignore
		switch t.Elem().Kind() {
		case reflect.Struct:
			return "a list [[" + f.key + "]]"
		case reflect.String:
			return f.key + ` = ["text"]`
		default:
			return f.key + " = [1, 2]"
		}
	default:
		panic("job: no example for " + f.key + " of type " + t.String())
	}
}
