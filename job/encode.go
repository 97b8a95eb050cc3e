package job

import (
	"bytes"
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// An encoder writes a struct as TOML in the form the decoder reads.
type encoder struct {
	b   bytes.Buffer
	err error
}

// encode writes the struct that from points at. Keys whose value is zero are left out unless they are needed.
func encode(from any) ([]byte, error) {
	e := &encoder{}
	e.table(reflect.ValueOf(from).Elem(), "")
	return e.b.Bytes(), e.err
}

func (e *encoder) fail(format string, args ...any) {
	if e.err == nil {
		e.err = fmt.Errorf(format, args...)
	}
}

// table writes the plain keys first and the tables after them, as TOML wants it.
func (e *encoder) table(v reflect.Value, path string) {
	fs := fields(v.Type())
	for _, f := range fs {
		x := v.Field(f.at)
		if isTable(x) || (x.IsZero() && !f.need && !paired(f, fs, v)) {
			continue
		}
		if x.Kind() == reflect.Slice && x.Len() == 0 && !f.need {
			continue
		}
		e.b.WriteString(key(f.key) + " = ")
		e.scalar(x, f)
		e.b.WriteByte('\n')
	}
	for _, f := range fs {
		x := v.Field(f.at)
		if !isTable(x) {
			continue
		}
		e.below(x, under(path, key(f.key)), f.need)
	}
}

// paired reports whether the key that f belongs to has a value.
func paired(f field, fs []field, v reflect.Value) bool {
	for _, other := range fs {
		if f.pair != "" && other.key == f.pair {
			return !v.Field(other.at).IsZero()
		}
	}
	return false
}

// isTable reports whether a value is written under a header of its own.
func isTable(v reflect.Value) bool {
	t := v.Type()
	if t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice {
		t = t.Elem()
	}
	return (t.Kind() == reflect.Struct && t != timeType) || t.Kind() == reflect.Map
}

func (e *encoder) below(v reflect.Value, path string, need bool) {
	//exhaustive:ignore
	switch v.Kind() {
	case reflect.Pointer:
		if !v.IsNil() {
			e.header("[" + path + "]")
			e.table(v.Elem(), path)
		}
	case reflect.Slice:
		for i := range v.Len() {
			e.header("[[" + path + "]]")
			e.table(v.Index(i), path)
		}
	case reflect.Map:
		if v.Len() > 0 {
			e.header("[" + path + "]")
			e.words(v)
		}
	default:
		if !v.IsZero() || need {
			e.header("[" + path + "]")
			e.table(v, path)
		}
	}
}

func (e *encoder) header(text string) {
	if e.b.Len() > 0 {
		e.b.WriteByte('\n')
	}
	e.b.WriteString(text + "\n")
}

func (e *encoder) words(v reflect.Value) {
	var keys []string
	for _, k := range v.MapKeys() {
		keys = append(keys, k.String())
	}
	slices.Sort(keys)
	for _, k := range keys {
		e.b.WriteString(key(k) + " = " + e.text(v.MapIndex(reflect.ValueOf(k)).String()) + "\n")
	}
}

func (e *encoder) scalar(v reflect.Value, f field) {
	if v.Type() == timeType {
		e.b.WriteString(instant(v.Interface().(time.Time)))
		return
	}
	//exhaustive:ignore
	switch v.Kind() {
	case reflect.Pointer:
		e.scalar(v.Elem(), f)
	case reflect.String:
		e.b.WriteString(e.text(v.String()))
	case reflect.Bool:
		e.b.WriteString(strconv.FormatBool(v.Bool()))
	case reflect.Int:
		e.b.WriteString(strconv.FormatInt(v.Int(), 10))
	case reflect.Float64:
		e.number(v.Float(), f)
	case reflect.Slice:
		e.b.WriteByte('[')
		for i := range v.Len() {
			if i > 0 {
				e.b.WriteString(", ")
			}
			e.scalar(v.Index(i), f)
		}
		e.b.WriteByte(']')
	default:
		panic("job: cannot write a " + v.Type().String())
	}
}

func (e *encoder) number(x float64, f field) {
	text := ""
	if d, ok := f.dimension(); ok {
		if text = quantity(d, x); text != "" {
			text = `"` + text + `"`
		}
	} else if x-x == 0 {
		text = plain(x)
	}
	if text == "" {
		e.fail("%s: %v cannot be written", f.key, x)
	}
	e.b.WriteString(text)
}

func instant(t time.Time) string {
	if t.Location() == time.UTC && t.Equal(t.Truncate(24*time.Hour)) {
		return t.Format(time.DateOnly)
	}
	return t.Format(time.RFC3339Nano)
}

// key writes a key, in quotes when it is not a bare one.
func key(k string) string {
	if k != "" && strings.Trim(k, "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-") == "" {
		return k
	}
	return Quoted(k)
}

func (e *encoder) text(s string) string {
	if !utf8.ValidString(s) {
		e.fail("text %q is not UTF-8", clip(s))
	}
	return Quoted(s)
}

// Quoted writes a TOML basic string.
func Quoted(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r == '\n':
			b.WriteString(`\n`)
		case r == '\t':
			b.WriteString(`\t`)
		case r < ' ' || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}
