package job

import (
	"errors"
	"fmt"
	"regexp"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A node is one value of a TOML text with its place, so that every message can point at it.
type node struct {
	kind    unstable.Kind // Table for every kind of table, Array for every list
	at      int           // byte offset in the file
	text    string        // decoded text of a string, text as written of a number, date or truth value
	entries []entry       // of a table, in order
	index   map[string]int
	items   []*node // of a list
	open    bool    // table: not yet given by a header of its own; list: made of [[headers]]
	inline  bool    // table in braces, which nothing may be added to
}

type entry struct {
	key   string
	at    int
	value *node
}

func newTable(at int) *node {
	return &node{kind: unstable.Table, at: at, index: map[string]int{}, open: true}
}

func (n *node) get(key string) *node {
	if i, ok := n.index[key]; ok {
		return n.entries[i].value
	}
	return nil
}

func (n *node) set(key string, at int, value *node) {
	n.index[key] = len(n.entries)
	n.entries = append(n.entries, entry{key, at, value})
}

// A builder turns the expressions of the TOML parser into a tree. It goes on after a problem, so that many are seen at once.
type builder struct {
	src      *source
	base     int // offset of the text that the parser was last given
	root     *node
	current  *node
	problems Problems
	broken   bool // a line could not be parsed: what is missing may have stood there
}

var looksLikeStart = regexp.MustCompile(`^\s*(?:\[+\s*[\w."'-]|[\w."'-]+\s*=)`)

// parse reads the whole text. When a line cannot be parsed it goes on at the next line that begins a table or a key.
func parse(src *source) *builder {
	b := &builder{src: src, root: newTable(0)}
	b.current = b.root
	for b.base < len(src.data) {
		var p unstable.Parser
		p.Reset(src.data[b.base:])
		for p.NextExpression() {
			b.expression(&p)
		}
		if p.Error() == nil {
			break
		}
		b.syntax(&p)
	}
	return b
}

// syntax records a line that cannot be parsed and moves the base to where reading can go on.
func (b *builder) syntax(p *unstable.Parser) {
	b.broken = true
	at, text := b.base, p.Error().Error()
	if pe, ok := errors.AsType[*unstable.ParserError](p.Error()); ok {
		at += highlight(p, pe.Highlight)
		text = pe.Message
	}
	line := b.src.line(at)
	found, write := plainSyntax(line, text)
	b.problems = append(b.problems, b.src.problem(at, "", found, write))
	if strings.HasPrefix(strings.TrimSpace(line), "[") {
		b.current = newTable(at) // keys that follow belong to a table whose name is not known
	}
	n, _ := b.src.place(at)
	for ; n < len(b.src.start); n++ {
		if looksLikeStart.MatchString(b.src.line(b.src.start[n])) {
			b.base = b.src.start[n]
			return
		}
	}
	b.base = len(b.src.data)
}

// highlight returns the offset of the part the parser points at; it is 0 when the part lies outside the text.
func highlight(p *unstable.Parser, part []byte) int {
	offset := cap(p.Data()) - cap(part)
	if part == nil || offset < 0 || offset > len(p.Data()) {
		return 0
	}
	return offset
}

var commaNumber = regexp.MustCompile(`=\s*([+-]?\d+),(\d+)\s*(?:#.*)?$`)

var keyValue = regexp.MustCompile(`^\s*([\w."'-]+)\s*=\s*([^"'\[{#]*[^"'\[{#\s])\s*(?:#.*)?$`)

// plainSyntax says what is wrong with a line in words; the commonest fault is text or a quantity without quotes.
func plainSyntax(line, text string) (found, write string) {
	if m := commaNumber.FindStringSubmatch(line); m != nil {
		return fmt.Sprintf("%s,%s has a decimal comma", m[1], m[2]), fmt.Sprintf("write it with a point, as %s.%s", m[1], m[2])
	}
	if m := keyValue.FindStringSubmatch(line); m != nil && strings.ContainsFunc(m[2], func(r rune) bool { return r > ' ' }) {
		return fmt.Sprintf("value %s cannot be read (%s)", clip(m[2]), text),
			fmt.Sprintf("write text and quantities in double quotes: %s = %q", m[1], clip(m[2]))
	}
	return fmt.Sprintf("%q cannot be read (%s)", clip(strings.TrimSpace(line)), text),
		`write one of: key = "text", key = "28 inH2O", key = 4, key = ["a", "b"], [table] or [[list]]`
}

func clip(s string) string {
	r := []rune(s)
	if len(r) > 60 {
		return string(r[:57]) + "..."
	}
	return s
}

func (b *builder) expression(p *unstable.Parser) {
	e := p.Expression()
	//exhaustive:ignore
	switch e.Kind {
	case unstable.Table:
		b.header(e.Key(), false)
	case unstable.ArrayTable:
		b.header(e.Key(), true)
	case unstable.KeyValue:
		b.keyValue(b.current, e)
	default: // comments are not kept
	}
}

type part struct {
	name string
	at   int
}

func (b *builder) parts(it unstable.Iterator) []part {
	var out []part
	for it.Next() {
		k := it.Node()
		out = append(out, part{string(k.Data), b.base + int(k.Raw.Offset)})
	}
	return out
}

// step goes down into the table named by p, which is made when it is missing. It returns nil after a problem.
func (b *builder) step(t *node, p part) *node {
	next := t.get(p.name)
	switch {
	case next == nil:
		next = newTable(p.at)
		t.set(p.name, p.at, next)
	case next.kind == unstable.Array && next.open && len(next.items) > 0:
		next = next.items[len(next.items)-1]
	}
	if next.kind != unstable.Table || next.inline {
		line, _ := b.src.place(next.at)
		b.fail(p, fmt.Sprintf("%q has a value on line %d, so nothing can be put under it", p.name, line), "write the keys in one place")
		return nil
	}
	return next
}

func (b *builder) fail(p part, found, write string) {
	b.problems = append(b.problems, b.src.problem(p.at, p.name, found, write))
}

// header goes to the table a [header] or a [[header]] names.
func (b *builder) header(it unstable.Iterator, list bool) {
	ps := b.parts(it)
	last := ps[len(ps)-1]
	t := b.root
	for _, p := range ps[:len(ps)-1] {
		if t = b.step(t, p); t == nil {
			b.current = newTable(last.at)
			return
		}
	}
	was := t.get(last.name)
	b.current = newTable(last.at)
	b.current.open = false
	switch {
	case was == nil && list:
		t.set(last.name, last.at, &node{kind: unstable.Array, at: last.at, open: true, items: []*node{b.current}})
	case was == nil:
		t.set(last.name, last.at, b.current)
	case list && was.kind == unstable.Array && was.open:
		was.items = append(was.items, b.current)
	case !list && was.kind == unstable.Table && was.open && !was.inline:
		was.open = false
		b.current = was
	default:
		line, _ := b.src.place(was.at)
		b.fail(last, fmt.Sprintf("%q is given again; it stands already on line %d", last.name, line), "write it once")
	}
}

// keyValue puts a key with its value under the table t.
func (b *builder) keyValue(t *node, e *unstable.Node) {
	ps := b.parts(e.Key())
	for _, p := range ps[:len(ps)-1] {
		if t = b.step(t, p); t == nil {
			return
		}
	}
	last := ps[len(ps)-1]
	if was, ok := t.index[last.name]; ok {
		line, _ := b.src.place(t.entries[was].at)
		b.fail(last, fmt.Sprintf("key %q is given again; it stands already on line %d", last.name, line), "write it once")
		return
	}
	t.set(last.name, last.at, b.value(e.Value(), last.at))
}

// value copies a value out of the parser. A list has no place of its own in the parser: it takes that of its key.
func (b *builder) value(v *unstable.Node, at int) *node {
	if v.Raw.Length > 0 {
		at = b.base + int(v.Raw.Offset)
	}
	n := &node{kind: v.Kind, at: at}
	//exhaustive:ignore
	switch v.Kind {
	case unstable.Array:
		for it := v.Children(); it.Next(); {
			n.items = append(n.items, b.value(it.Node(), at))
		}
	case unstable.InlineTable:
		n = newTable(at)
		for it := v.Children(); it.Next(); {
			b.keyValue(n, it.Node())
		}
		n.inline = true
	default:
		n.text = string(v.Data)
	}
	return n
}
