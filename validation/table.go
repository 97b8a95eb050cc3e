package validation

import (
	"context"
	"fmt"
	"math"
)

// A Row is one check of a case: the compared value that lies furthest off.
type Row struct {
	Case      string  `json:"case"`      // directory
	Quantity  string  `json:"quantity"`  // what was compared
	Points    int     `json:"points"`    // values compared; the row shows the worst of them
	Value     float64 `json:"value"`     // ours [unit of the outside value]
	Outside   float64 `json:"outside"`   // the outside value [as its source]
	Deviation float64 `json:"deviation"` // Value less Outside, over Outside where Relative [- or as Outside]
	Tolerance float64 `json:"tolerance"` // allowed size of Deviation [as Deviation]
	Relative  bool    `json:"relative"`
	Reason    string  `json:"reason"` // for the tolerance
	Source    string  `json:"source"`
	Pass      bool    `json:"pass"`  // within the tolerance
	Known     string  `json:"known"` // why it misses, when the miss is known and lies where it is known to lie
}

// OK reports whether the row passes or misses as it is known to.
func (r Row) OK() bool { return r.Pass || r.Known != "" }

// A Case is one directory of checks.
type Case struct {
	Name    string   `json:"name"`  // directory
	Title   string   `json:"title"` // heading of its README
	Rows    []Row    `json:"rows"`
	LeftOut []string `json:"left_out"` // checks that only the full run makes
}

// A Table is everything that was checked.
type Table struct {
	Full  bool   `json:"full"`
	Cases []Case `json:"cases"`
}

// Count returns how many rows pass, miss as they are known to, and fail.
func (t Table) Count() (pass, known, fail int) {
	for _, c := range t.Cases {
		for _, r := range c.Rows {
			switch {
			case r.Pass:
				pass++
			case r.Known != "":
				known++
			default:
				fail++
			}
		}
	}
	return pass, known, fail
}

// A Progress is told how far a run is.
type Progress func(title string, done, total int)

// Run makes the checks, in full or the quick ones only. progress may be nil. An error means that a check could not be made at
// all; it names the case.
func Run(ctx context.Context, full bool, progress Progress) (Table, error) {
	t := Table{Full: full}
	all := cases()
	for i, c := range all {
		if progress != nil {
			progress(c.name, i, len(all))
		}
		if err := ctx.Err(); err != nil {
			return t, err
		}
		done, err := runCase(ctx, c, full)
		if err != nil {
			return t, fmt.Errorf("case %s: %w", c.name, err)
		}
		t.Cases = append(t.Cases, done)
	}
	if progress != nil {
		progress("", len(all), len(all))
	}
	return t, nil
}

// Names lists the cases in order.
func Names() []string {
	var out []string
	for _, c := range cases() {
		out = append(out, c.name)
	}
	return out
}

// FullChecks lists every check that a full run makes, as the READMEs name them. A case whose README cannot be read is left
// out: running it says why.
func FullChecks() []string {
	var out []string
	for _, e := range cases() {
		r, err := readReadme(e.name)
		if err != nil {
			continue
		}
		for _, c := range r.checks {
			if c.in(true) {
				out = append(out, c.name)
			}
		}
	}
	return out
}

// RunCase makes the checks of one case.
func RunCase(ctx context.Context, name string, full bool) (Case, error) {
	for _, c := range cases() {
		if c.name == name {
			return runCase(ctx, c, full)
		}
	}
	return Case{}, fmt.Errorf("there is no case %q", name)
}

func runCase(ctx context.Context, e entry, full bool) (Case, error) {
	readme, err := readReadme(e.name)
	if err != nil {
		return Case{}, err
	}
	b := &book{name: e.name, full: full, readme: readme, worst: map[string]*compared{}}
	if err := e.run(ctx, b); err != nil {
		return Case{}, err
	}
	if b.err != nil {
		return Case{}, b.err
	}
	return b.close()
}

// A compared is the worst of the values compared under one name.
type compared struct {
	points         int
	value, outside float64
	tolerance      float64
	excess         float64 // deviation over tolerance
}

// A book collects what a case compares. The first fault is kept and ends the case.
type book struct {
	name   string
	full   bool
	readme readme
	worst  map[string]*compared
	err    error
}

func (b *book) fail(format string, args ...any) {
	if b.err == nil {
		b.err = fmt.Errorf(format, args...)
	}
}

// wants reports whether a check is to be made in this run.
func (b *book) wants(name string) bool {
	c, ok := b.readme.check(name)
	return ok && c.in(b.full)
}

// compare holds a value against the outside value at the tolerance of the README.
func (b *book) compare(name string, value, outside float64) {
	c, ok := b.readme.check(name)
	switch {
	case !ok:
		b.fail("check %q is not in the README", name)
	case c.printed:
		b.fail("check %q takes its tolerance from the data", name)
	default:
		b.note(name, c, value, outside, c.tolerance)
	}
}

// compareWithin holds a value against the outside value at an absolute tolerance that stands beside it in the data.
func (b *book) compareWithin(name string, value, outside, tolerance float64) {
	c, ok := b.readme.check(name)
	switch {
	case !ok:
		b.fail("check %q is not in the README", name)
	case !c.printed:
		b.fail("check %q has a tolerance in the README", name)
	default:
		b.note(name, c, value, outside, tolerance)
	}
}

func (b *book) note(name string, c check, value, outside, tolerance float64) {
	if !c.in(b.full) {
		b.fail("check %q does not belong to this run", name)
		return
	}
	excess := math.Abs(deviation(value, outside, c.relative)) / tolerance
	if math.IsNaN(excess) {
		excess = math.Inf(1)
	}
	w, ok := b.worst[name]
	if !ok {
		w = &compared{excess: -1}
		b.worst[name] = w
	}
	w.points++
	if excess > w.excess {
		w.value, w.outside, w.tolerance, w.excess = value, outside, tolerance, excess
	}
}

// deviation returns value less outside, over outside when relative. Zero is compared as it is.
func deviation(value, outside float64, relative bool) float64 {
	if relative && outside != 0 {
		return (value - outside) / math.Abs(outside)
	}
	return value - outside
}

// close turns what was compared into rows, in the order of the README.
func (b *book) close() (Case, error) {
	out := Case{Name: b.name, Title: b.readme.title, Rows: []Row{}, LeftOut: []string{}}
	for _, c := range b.readme.checks {
		w, ok := b.worst[c.name]
		if !ok {
			if !c.in(b.full) && c.quick {
				continue
			}
			if !c.in(b.full) {
				out.LeftOut = append(out.LeftOut, c.name)
				continue
			}
			return Case{}, fmt.Errorf("check %q of the README was not made", c.name)
		}
		if w.points < c.least {
			return Case{}, fmt.Errorf("check %q compared %d values where the README says %d: the data is not all there", c.name, w.points, c.least)
		}
		d := deviation(w.value, w.outside, c.relative)
		row := Row{
			Case: b.name, Quantity: c.name, Points: w.points, Value: w.value, Outside: w.outside, Deviation: d, Tolerance: w.tolerance,
			Relative: c.relative, Reason: c.reason, Source: c.sourceOr(b.readme.source), Pass: w.excess <= 1,
		}
		if !row.Pass && c.known != "" && d >= c.knownLo && d <= c.knownHi {
			row.Known = c.known
		}
		out.Rows = append(out.Rows, row)
	}
	return out, nil
}
