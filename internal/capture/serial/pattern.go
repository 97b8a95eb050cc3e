package serial

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"runnel/unit"
)

// A pattern takes the numbers out of a line.
type pattern struct {
	parts []part
	names []string // of the fields, in their order; "" for {}
	units []string // of the fields; "" when the pattern has none
}

// A part is literal text, or a field.
type part struct {
	text  string
	field bool
}

// timeField is the field that is the device's own clock.
const timeField = "time"

// parsePattern reads a pattern. An empty one is nil: lines are split at separators.
func parsePattern(s string) (*pattern, error) {
	if s == "" {
		return nil, nil //nolint:nilnil // no pattern is a choice, not a failure
	}
	p := &pattern{}
	for s != "" {
		text, rest, found := strings.Cut(s, "{")
		if strings.Contains(text, "}") {
			return nil, fmt.Errorf("line: %q closes a brace that was not opened", text)
		}
		if text != "" {
			p.parts = append(p.parts, part{text: text})
		}
		if !found {
			break
		}
		inside, after, closed := strings.Cut(rest, "}")
		if !closed {
			return nil, fmt.Errorf("line: the brace before %q is not closed", rest)
		}
		if n := len(p.parts); n > 0 && p.parts[n-1].field {
			return nil, errors.New("line: two fields touch: put what stands between them in the line")
		}
		if err := p.field(inside); err != nil {
			return nil, err
		}
		s = after
	}
	if len(p.names) == 0 {
		return nil, errors.New(`line: there is no field: write one in braces, as {meter_dp:Pa}`)
	}
	return p, nil
}

func (p *pattern) field(s string) error {
	name, u, _ := strings.Cut(s, ":")
	if name != "" && slices.Contains(p.names, name) {
		return fmt.Errorf("line: field %q stands twice", name)
	}
	if name == timeField {
		if u == "" {
			u = "s"
		}
		if _, ok := unit.Time.Lookup(u); !ok && u != "us" {
			return fmt.Errorf("line: the time is in %q: write s, ms or us", u)
		}
	}
	p.names, p.units, p.parts = append(p.names, name), append(p.units, u), append(p.parts, part{field: true})
	return nil
}

// unitOf returns the unit of a field; ok is false when there is no such field.
func (p *pattern) unitOf(name string) (u string, ok bool) {
	i := slices.Index(p.names, name)
	if i < 0 || name == "" {
		return "", false
	}
	return p.units[i], true
}

// read takes the numbers of a line in the order of the fields; ok is false when the line does not fit.
func (p *pattern) read(line string, into []float64) bool {
	k := 0
	for i, q := range p.parts {
		if !q.field {
			rest, ok := literal(line, q.text, i > 0)
			if !ok {
				return false
			}
			line = rest
			continue
		}
		n := numberLength(line)
		v, err := strconv.ParseFloat(line[:n], 64)
		if err != nil {
			return false
		}
		into[k], line = v, line[n:]
		k++
	}
	return strings.TrimSpace(line) == ""
}

// literal takes text off the begin of a line. Space stands for any number of spaces and tabs; after a field, spaces before
// the text are let pass.
func literal(line, text string, loose bool) (rest string, ok bool) {
	for text != "" {
		if blank(text[0]) {
			trimmed := strings.TrimLeft(line, " \t")
			if len(trimmed) == len(line) && !loose {
				return "", false
			}
			line, text = trimmed, strings.TrimLeft(text, " \t")
			continue
		}
		if loose {
			line = strings.TrimLeft(line, " \t")
			loose = false
		}
		if line == "" || line[0] != text[0] {
			return "", false
		}
		line, text = line[1:], text[1:]
	}
	return strings.TrimLeft(line, " \t"), true
}

func blank(c byte) bool { return c == ' ' || c == '\t' }

// numberLength is how many bytes at the begin of s belong to a number.
func numberLength(s string) int {
	i, exponents := 0, 0
	for i < len(s) {
		c := s[i]
		sign := (c == '-' || c == '+') && (i == 0 || s[i-1] == 'e' || s[i-1] == 'E')
		exponent := (c == 'e' || c == 'E') && i > 0 && (digit(s[i-1]) || s[i-1] == '.') && exponents == 0
		if !digit(c) && c != '.' && !sign && !exponent {
			break
		}
		if exponent {
			exponents++
		}
		i++
	}
	return i
}

func digit(c byte) bool { return c >= '0' && c <= '9' }

// split finds the fields of a line without a pattern: by name where the item has one, else by place.
func split(line string, wanted []string, into []float64) bool {
	found, place := 0, 0
	for item := range strings.FieldsFuncSeq(line, func(r rune) bool { return r == ',' || r == ';' || r == ' ' || r == '\t' }) {
		name, value, named := strings.Cut(item, "=")
		if !named {
			place++
			name, value = strconv.Itoa(place), item
		}
		k := slices.Index(wanted, name)
		if k < 0 {
			continue
		}
		v, err := strconv.ParseFloat(value[:numberLength(value)], 64)
		if err != nil {
			return false
		}
		into[k] = v
		found++
	}
	return found == len(wanted)
}
