package job

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"github.com/pelletier/go-toml/v2/unstable"

	"runnel/unit"
)

var timeType = reflect.TypeFor[time.Time]()

// A decoder fills Go values from a tree and notes where each of them stood.
type decoder struct {
	src      *source
	where    map[string]int // path of a key, "pieces[0].kind" → byte offset
	problems Problems
	broken   bool
}

// decode reads a TOML text into the struct that into points at.
func decode(src *source, into any) *decoder {
	b := parse(src)
	d := &decoder{src: src, where: map[string]int{}, problems: b.problems, broken: b.broken}
	d.table(b.root, reflect.ValueOf(into).Elem(), "", "at the top of the file")
	return d
}

func (d *decoder) fail(n *node, path, found, write string) {
	d.problems = append(d.problems, d.src.problem(n.at, path, found, write))
}

func under(path, key string) string {
	if path == "" {
		return key
	}
	return path + "." + key
}

// table fills a struct. title says in messages which table it is: "in [engine]".
func (d *decoder) table(n *node, v reflect.Value, path, title string) {
	d.where[path] = n.at
	known := fields(v.Type())
	names := make([]string, len(known))
	for i, f := range known {
		names[i] = f.key
	}
	meant := map[string]bool{} // keys that a misspelt one stands for
	for _, e := range n.entries {
		i := indexOf(names, e.key)
		if i < 0 {
			meant[d.unknown(e, path, title, names)] = true
			continue
		}
		d.where[under(path, e.key)] = e.value.at
		d.value(e.value, v.Field(known[i].at), known[i], under(path, e.key))
	}
	for _, f := range known {
		if f.need && n.get(f.key) == nil && !d.broken && !meant[f.key] {
			d.fail(n, under(path, f.key), fmt.Sprintf("key %q is missing %s", f.key, title), "write "+f.example(v.Field(f.at).Type()))
		}
	}
}

func indexOf(names []string, key string) int {
	for i, n := range names {
		if n == key {
			return i
		}
	}
	return -1
}

// unknown records a key that the table has not and returns the key that was meant, if one is near.
func (d *decoder) unknown(e entry, path, title string, names []string) string {
	write := "write one of " + strings.Join(names, ", ")
	if len(names) == 1 {
		write = fmt.Sprintf("write %q", names[0])
	}
	if blown(e.key) && (path == "" || path == "engine" || strings.HasPrefix(path, "engine.")) {
		d.problems = append(d.problems, d.src.problem(e.at, under(path, e.key), fmt.Sprintf("unknown key %q %s", e.key, title), outOfScope))
		return ""
	}
	near, ok := closest(e.key, names)
	if ok {
		write = fmt.Sprintf("write %q", near)
		d.problems = append(d.problems, d.src.problem(e.at, under(path, near), fmt.Sprintf("unknown key %q %s", e.key, title), write))
		return near
	}
	d.problems = append(d.problems, d.src.problem(e.at, under(path, e.key), fmt.Sprintf("unknown key %q %s", e.key, title), write))
	return ""
}

// blown reports whether a key is of an engine that does not draw its air by itself.
func blown(key string) bool {
	key = strings.ToLower(key)
	for _, word := range []string{"boost", "turbo", "supercharg", "compressor", "blower", "intercool", "wastegate", "forced", "nitrous"} {
		if strings.Contains(key, word) {
			return true
		}
	}
	return false
}

// value fills one Go value of any kind a job has.
func (d *decoder) value(n *node, v reflect.Value, f field, path string) {
	switch {
	case v.Type() == timeType:
		d.time(n, v, f, path)
		return
	case v.Kind() == reflect.Pointer:
		p := reflect.New(v.Type().Elem())
		before := len(d.problems)
		d.value(n, p.Elem(), f, path)
		if len(d.problems) == before || p.Elem().Kind() == reflect.Struct {
			v.Set(p)
		}
		return
	}
	//exhaustive:ignore
	switch v.Kind() {
	case reflect.Struct:
		if n.kind != unstable.Table {
			d.wrongKind(n, f, path, "a table")
			return
		}
		d.table(n, v, path, "in ["+f.key+"]")
	case reflect.Slice:
		d.list(n, v, f, path)
	case reflect.Map:
		d.words(n, v, f, path)
	case reflect.Float64:
		d.number(n, v, f, path)
	case reflect.String:
		if n.kind != unstable.String {
			d.wrongKind(n, f, path, "text in double quotes")
			return
		}
		v.SetString(n.text)
	case reflect.Bool:
		if n.kind != unstable.Bool {
			d.wrongKind(n, f, path, "true or false")
			return
		}
		v.SetBool(n.text == "true")
	case reflect.Int:
		i, err := strconv.ParseInt(strings.ReplaceAll(n.text, "_", ""), 0, 32)
		if n.kind != unstable.Integer || err != nil {
			d.wrongKind(n, f, path, "a whole number")
			return
		}
		v.SetInt(i)
	default:
		panic("job: cannot read a " + v.Type().String())
	}
}

func (d *decoder) list(n *node, v reflect.Value, f field, path string) {
	if n.kind != unstable.Array {
		d.wrongKind(n, f, path, "a list")
		return
	}
	if len(n.items) == 0 {
		return
	}
	one := f
	one.need = false
	v.Set(reflect.MakeSlice(v.Type(), len(n.items), len(n.items)))
	for i, item := range n.items {
		at := path + "[" + strconv.Itoa(i) + "]"
		d.where[at] = item.at
		if v.Type().Elem().Kind() == reflect.Struct && v.Type().Elem() != timeType {
			if item.kind != unstable.Table {
				d.wrongKind(item, f, at, "a table")
				continue
			}
			d.table(item, v.Index(i), at, "in [["+f.key+"]]")
			continue
		}
		d.value(item, v.Index(i), one, at)
	}
}

// words fills a map from free words to text.
func (d *decoder) words(n *node, v reflect.Value, f field, path string) {
	if n.kind != unstable.Table {
		d.wrongKind(n, f, path, "a table")
		return
	}
	m := map[string]string{}
	for _, e := range n.entries {
		at := under(path, e.key)
		d.where[at] = e.value.at
		if e.value.kind != unstable.String {
			d.wrongKind(e.value, field{key: e.key}, at, "text in double quotes")
			continue
		}
		m[e.key] = e.value.text
	}
	if len(m) > 0 {
		v.Set(reflect.ValueOf(m))
	}
}

// number fills a quantity with its unit, or a plain number.
func (d *decoder) number(n *node, v reflect.Value, f field, path string) {
	dim, has := f.dimension()
	isNumber := n.kind == unstable.Integer || n.kind == unstable.Float
	switch {
	case has && n.kind == unstable.String:
		si, err := dim.Parse(n.text)
		if err != nil {
			d.quantityError(n, f, dim, path, err)
			return
		}
		d.zero(n, si, f, path)
		v.SetFloat(si)
	case has && isNumber && dim.SI().Name != "":
		d.fail(n, path, fmt.Sprintf("%s: bare number %s has no unit", f.key, n.text),
			fmt.Sprintf("write it with a unit of %s, as %q", dim.Name, n.text+" "+customary(dim)[0]))
	case isNumber:
		x, err := plainNumber(n)
		if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
			d.fail(n, path, fmt.Sprintf("%s: %s is not a number that can be used", f.key, n.text), "write a number")
			return
		}
		d.zero(n, x, f, path)
		v.SetFloat(x)
	case has:
		d.wrongKind(n, f, path, "a quantity with its unit in double quotes")
	default:
		d.wrongKind(n, f, path, "a number")
	}
}

// zero refuses a 0 that would be taken as "not known", so that a default never stands in silence for what was written.
func (d *decoder) zero(n *node, x float64, f field, path string) {
	switch {
	case x != 0 || f.zero == "":
	case f.zero == "never":
		d.fail(n, path, f.key+" of 0 is that of no engine", "write a value above zero, or leave the key out: a usual value is then taken")
	default:
		small := f.zero
		if f.dim != "" {
			small = strconv.Quote(small)
		}
		d.fail(n, path, f.key+" of 0 would count as not known", "write "+small+" for next to nothing, or leave the key out: a usual value is then taken")
	}
}

// plainNumber reads a TOML number.
func plainNumber(n *node) (float64, error) {
	text := strings.ReplaceAll(n.text, "_", "")
	if n.kind == unstable.Integer {
		i, err := strconv.ParseInt(text, 0, 64)
		return float64(i), err
	}
	return strconv.ParseFloat(text, 64)
}

func (d *decoder) quantityError(n *node, f field, dim unit.Dimension, path string, err error) {
	found, write, advice := strings.Cut(err.Error(), ": ")
	switch {
	case strings.Contains(found, "has no unit"):
		write = fmt.Sprintf("write it as %q", strings.TrimSpace(n.text)+" "+customary(dim)[0])
	case !advice || strings.HasPrefix(write, "write it like"):
		write = fmt.Sprintf("write it like %q", strings.TrimSpace("1 "+customary(dim)[0]))
	}
	d.fail(n, path, f.key+": "+found, write)
}

// wrongKind says that a value is not of the kind the key asks for.
func (d *decoder) wrongKind(n *node, f field, path, want string) {
	write := "write " + want
	if f.dim != "" {
		dim, _ := f.dimension()
		write = fmt.Sprintf("write %s, as %q", want, strings.TrimSpace("1 "+customary(dim)[0]))
	}
	d.fail(n, path, fmt.Sprintf("%s is %s, not %s", f.key, n.describe(), want), write)
}

func (n *node) describe() string {
	//exhaustive:ignore
	switch n.kind {
	case unstable.String:
		return "the text " + strconv.Quote(clip(n.text))
	case unstable.Table, unstable.InlineTable:
		return "a table"
	case unstable.Array:
		return "a list"
	case unstable.Bool, unstable.Integer, unstable.Float:
		return clip(n.text)
	default:
		return "the date or time " + clip(n.text)
	}
}

// time fills an instant. A date or time without zone counts as UTC, so that the same folder reads the same everywhere.
func (d *decoder) time(n *node, v reflect.Value, f field, path string) {
	var layout string
	//exhaustive:ignore
	switch n.kind {
	case unstable.DateTime:
		layout = time.RFC3339Nano
	case unstable.LocalDateTime:
		layout = "2006-01-02T15:04:05.999999999"
	case unstable.LocalDate:
		layout = time.DateOnly
	default:
		d.fail(n, path, fmt.Sprintf("%s is %s, not a date", f.key, n.describe()), "write it without quotes, like 2026-05-02 or 2026-05-02T09:30:00Z")
		return
	}
	text := strings.ToUpper(strings.Replace(n.text, " ", "T", 1))
	t, err := time.Parse(layout, text)
	if err != nil {
		d.fail(n, path, fmt.Sprintf("%s: %s is no date or time there is", f.key, n.text), "write it like 2026-05-02 or 2026-05-02T09:30:00Z")
		return
	}
	v.Set(reflect.ValueOf(fixed(t)))
}

// fixed takes the zone of this machine out of an instant and keeps its offset.
func fixed(t time.Time) time.Time {
	if _, offset := t.Zone(); offset != 0 {
		return t.In(time.FixedZone("", offset))
	}
	return t.UTC()
}
