package handover

import (
	"fmt"
	"strings"
	"time"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

// A builder holds what all sections are made from.
type builder struct {
	names
	a assess.Assessment
	o Options
	w warnings
}

// Build writes the handover of a job and its assessment as a tree of content. It fails with [ErrLanguage] when the language
// is not known, and when the facts cannot be named by their hash.
func Build(j job.Job, a assess.Assessment, o Options) (Document, error) {
	if o.Language == "" {
		o.Language = "en"
	}
	if o.Language != "en" {
		return Document{}, fmt.Errorf("%w: %q: write \"en\"", ErrLanguage, o.Language)
	}
	if o.Hash == "" {
		hash, err := j.ContentHash()
		if err != nil {
			return Document{}, fmt.Errorf("naming the facts: %w", err)
		}
		o.Hash = hash
	}
	b := &builder{names: names{j}, a: a, o: o, w: warnings{sys: o.System}}
	d := Document{
		Title: j.Title, Shop: j.Shop.Name, Place: j.Shop.Place, Customer: j.Customer.Name, Date: lastDay(j),
		Hash: o.Hash, Invented: j.Invented || a.Invented, Paper: o.Paper, Language: o.Language, Head: b.head(),
	}
	for _, s := range []Section{
		b.asked(), b.result(), b.done(), b.verdicts(), b.match(), b.readings(), b.restriction(), b.pull(),
		b.setup(), b.sittings(), b.cautions(), b.method(), b.travelling(), glossary(), b.signature(),
	} {
		if len(s.Blocks) > 0 {
			d.Sections = append(d.Sections, s)
		}
	}
	return d, nil
}

// lastDay is the last day the facts speak of: it dates the document.
func lastDay(j job.Job) time.Time {
	last := j.BookedIn
	later := func(t time.Time) {
		if t.After(last) {
			last = t
		}
	}
	for _, r := range j.Rounds {
		later(r.Date)
	}
	for _, s := range j.Sittings {
		later(s.At)
	}
	if last.IsZero() {
		return undated
	}
	return last.UTC()
}

// undated dates the document of a job without a date.
var undated = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

func (b *builder) head() []Fact {
	ref := b.a.Reference
	facts := []Fact{
		{"For", b.j.Customer.Name},
		{"Contact", b.j.Customer.Contact},
		{"Booked in", day(b.j.BookedIn)},
		{"Last work", day(lastDay(b.j))},
		{"Job", b.j.ID},
	}
	if ref.TestPressure > 0 {
		facts = append(facts,
			Fact{"Flows stated at", bothPressures(ref.TestPressure) + ", " + b.airWords(ref)},
			Fact{"Smallest change worth claiming", percent(ref.SmallestChange, 1)})
	}
	if b.j.Engine != nil && b.j.Engine.Title != "" {
		facts = append(facts, Fact{"Engine", b.j.Engine.Title})
	}
	var out []Fact
	for _, f := range facts {
		if f.Value != "" && f.Value != "–" {
			out = append(out, f)
		}
	}
	return out
}

// bothPressures writes a pressure drop in both systems of units.
func bothPressures(p float64) string {
	return nbUnit(unit.US.TestPressure().Show(p)) + " (" + nbUnit(unit.Metric.TestPressure().Show(p)) + ")"
}

func (b *builder) airWords(ref assess.Reference) string {
	return "air of " + nbUnit(b.o.System.Barometer().Show(ref.Pressure)) + ", " + nbUnit(b.o.System.Temperature().Show(ref.Temperature)) + ", " +
		plot.Number(100*ref.Humidity, 0) + nb + "% humidity"
}

// told is a sentence of the engineering in the units of the sentences.
func (b *builder) told(text string) string { return b.o.System.Text(text) }

func (b *builder) toldAll(texts []string) []string { return b.o.System.Texts(texts) }

// nbUnit joins number and unit of a shown quantity so that no line breaks between them.
func nbUnit(s string) string {
	out := []rune(s)
	for i, r := range out {
		if r == ' ' {
			out[i] = '\u00a0'
		}
	}
	return string(out)
}

func (b *builder) asked() Section {
	s := Section{ID: "asked", Title: "What was asked"}
	if b.j.Customer.AskedFor != "" {
		s.Blocks = append(s.Blocks, Paragraph{Text: b.j.Customer.AskedFor, Style: Quote})
	}
	return s
}

func (b *builder) done() Section {
	s := Section{ID: "done", Title: "What was done"}
	var untouched []string
	for _, p := range b.j.Pieces {
		t := Table{
			Caption: b.piece(p.ID),
			Columns: []Column{{Head: "Round"}, {Head: "Date"}, {Head: "What was done to reach it"}},
		}
		if p.Material != "" {
			t.Caption += ", " + p.Material
		}
		worked := false
		for _, r := range b.j.Rounds {
			if r.Piece == p.ID {
				worked = worked || r.Did != ""
				t.Rows = append(t.Rows, Row{Cells: []string{b.round(r.ID), nbUnit(day(r.Date)), orDash(r.Did)}})
			}
		}
		switch {
		case worked:
			s.Blocks = append(s.Blocks, t)
		case len(t.Rows) > 0:
			untouched = append(untouched, b.piece(p.ID))
		}
	}
	if len(untouched) > 0 {
		s.Blocks = append(s.Blocks, Paragraph{Text: "Flowed with the rest, without work on record: " + strings.Join(untouched, "; ") + "."})
	}
	return s
}

func (b *builder) signature() Section {
	return Section{ID: "signature", Title: "Signed", Blocks: []Block{
		Paragraph{Text: "This record speaks of the pieces as they were flowed on the dates given. Its facts are named by the SHA-256 hash " +
			b.o.Hash + "; the same facts give the same record."},
		Sign{Lines: []string{"For " + orShop(b.j.Shop.Name), "For " + b.j.Customer.Name}},
	}}
}

func orShop(name string) string {
	if name == "" {
		return "the shop"
	}
	return name
}
