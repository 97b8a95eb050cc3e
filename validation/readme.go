package validation

import (
	"bytes"
	"embed"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"runnel/job"
)

//go:embed */README.md */*.csv */engine.toml
var files embed.FS

// A readme is what the README of a case says.
type readme struct {
	title  string
	source string
	checks []check
}

// A check is one line of its table: what is compared, how many values at least, the tolerance and its reason.
type check struct {
	name             string
	least            int // values that must be compared at least
	tolerance        float64
	relative         bool
	printed          bool // the tolerance stands beside each value in the data
	full             bool // only in the full run
	quick            bool // only in the quick run
	reason           string
	source           string
	known            string // explanation of a deviation that is known
	knownLo, knownHi float64
}

// in reports whether the check belongs to a full or to a quick run.
func (c check) in(full bool) bool { return full && !c.quick || !full && !c.full }

func (c check) sourceOr(source string) string {
	if c.source != "" {
		return c.source
	}
	return source
}

func (r readme) check(name string) (check, bool) {
	for _, c := range r.checks {
		if c.name == name {
			return c, true
		}
	}
	return check{}, false
}

// The columns of the table of checks in a README.
const columns = "check|values|tolerance|reason|source|known deviation"

// readReadme reads the README of a case.
func readReadme(name string) (readme, error) {
	text, err := files.ReadFile(name + "/README.md")
	if err != nil {
		return readme{}, err
	}
	var r readme
	inTable := false
	for line := range strings.Lines(string(text)) {
		line = strings.TrimSpace(line)
		switch {
		case r.title == "" && strings.HasPrefix(line, "# "):
			r.title = line[2:]
		case strings.HasPrefix(line, "Source: "):
			r.source = line[len("Source: "):]
		case strings.HasPrefix(line, "| ---") || strings.HasPrefix(line, "|---"):
		case strings.HasPrefix(line, "|"):
			cells := cellsOf(line)
			if !inTable {
				if got := strings.Join(cells, "|"); got != columns {
					return readme{}, fmt.Errorf("README: the table has the columns %q, wanted %q", got, columns)
				}
				inTable = true
				continue
			}
			c, err := checkOf(cells)
			if err != nil {
				return readme{}, fmt.Errorf("README: %q: %w", line, err)
			}
			r.checks = append(r.checks, c)
		}
	}
	if r.title == "" || r.source == "" || len(r.checks) == 0 {
		return readme{}, errors.New("README: a title, a line \"Source: \" and a table of checks are needed")
	}
	return r, nil
}

func cellsOf(line string) []string {
	cells := strings.Split(strings.Trim(line, "|"), "|")
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells
}

// checkOf reads one line of the table. A tolerance is "1e-9 relative", "0.5 absolute" or "as printed"; ", full" or ", quick"
// behind it keeps the check to the full or to the quick run. A known deviation begins with its bounds: "0.4..0.6: why".
func checkOf(cells []string) (check, error) {
	if len(cells) != strings.Count(columns, "|")+1 {
		return check{}, fmt.Errorf("%d cells", len(cells))
	}
	c := check{name: cells[0], reason: cells[3], source: cells[4]}
	var err error
	if c.least, err = strconv.Atoi(cells[1]); err != nil || c.least < 1 {
		return check{}, fmt.Errorf("number of values %q", cells[1])
	}
	tolerance, full := strings.CutSuffix(cells[2], ", full")
	tolerance, quick := strings.CutSuffix(tolerance, ", quick")
	c.full, c.quick = full, quick
	number, kind, _ := strings.Cut(tolerance, " ")
	switch {
	case tolerance == "as printed":
		c.printed = true
	case kind == "relative" || kind == "absolute":
		c.relative = kind == "relative"
		if c.tolerance, err = strconv.ParseFloat(number, 64); err != nil || !(c.tolerance > 0) {
			return check{}, fmt.Errorf("tolerance %q", cells[2])
		}
	default:
		return check{}, fmt.Errorf("tolerance %q", cells[2])
	}
	if c.reason == "" {
		return check{}, errors.New("no reason for the tolerance")
	}
	if cells[5] == "" {
		return c, nil
	}
	bounds, why, ok := strings.Cut(cells[5], ": ")
	lo, hi, both := strings.Cut(bounds, "..")
	if !ok || !both {
		return check{}, fmt.Errorf("known deviation %q has no bounds", cells[5])
	}
	if c.knownLo, err = strconv.ParseFloat(lo, 64); err != nil {
		return check{}, err
	}
	if c.knownHi, err = strconv.ParseFloat(hi, 64); err != nil {
		return check{}, err
	}
	c.known = why
	return c, nil
}

// A record is one line of a data file by column name.
type record map[string]string

// rows reads a data file of the case: lines that begin with # are its header.
func (b *book) rows(file string) []record {
	text, err := files.ReadFile(b.name + "/" + file)
	if err != nil {
		b.fail("%w", err)
		return nil
	}
	r := csv.NewReader(bytes.NewReader(text))
	r.Comment = '#'
	r.FieldsPerRecord = -1
	all, err := r.ReadAll()
	if err != nil {
		b.fail("%s: %w", file, err)
		return nil
	}
	if len(all) < 2 {
		b.fail("%s has no rows", file)
		return nil
	}
	out := make([]record, 0, len(all)-1)
	for _, line := range all[1:] {
		m := record{}
		for i, v := range line {
			if i < len(all[0]) {
				m[all[0][i]] = v
			}
		}
		out = append(out, m)
	}
	return out
}

// card reads the engine card of the case, a copy of one of the examples.
func (b *book) card() job.Engine {
	const file = "engine.toml"
	text, err := files.ReadFile(b.name + "/" + file)
	if err != nil {
		b.fail("%w", err)
		return job.Engine{}
	}
	card, err := job.LoadEngine(file, text)
	if err != nil {
		b.fail("%w", err)
	}
	return card
}

// num reads a number of a row; "inf" is infinite. What is no number ends the case.
func (b *book) num(r record, column string) float64 {
	s, ok := r[column]
	if !ok {
		b.fail("no column %q", column)
		return math.NaN()
	}
	v, err := strconv.ParseFloat(strings.TrimSpace(s), 64)
	if err != nil {
		b.fail("column %s: %w", column, err)
		return math.NaN()
	}
	return v
}

// opt reads a number of a row, 0 when the cell is empty.
func (b *book) opt(r record, column string) float64 {
	if strings.TrimSpace(r[column]) == "" {
		return 0
	}
	return b.num(r, column)
}
