package handover

import (
	"time"

	"runnel/internal/plot"
)

// A Document is the handover as a tree of content, before it is put on paper or on a page.
type Document struct {
	Title    string    // what the job is called
	Shop     string    // who did the work
	Place    string    // where
	Customer string    // for whom
	Date     time.Time // last day the facts speak of
	Hash     string    // content hash of the facts, hexadecimal
	Invented bool      // demo data: every page says so
	Paper    Paper
	Language string
	Head     []Fact
	Sections []Section
}

// A Section is a heading and what stands under it.
type Section struct {
	ID     string // anchor, "readings"
	Title  string
	Blocks []Block
}

// A Block is one piece of a section: Paragraph, Outcome, List, Facts, Table, Picture, Sign.
type Block interface{ block() }

// A Paragraph is running text.
type Paragraph struct {
	Text  string
	Style Style
}

// Style is the weight of a paragraph.
type Style int

// The styles.
const (
	Plain Style = iota
	Quote       // the customer's words
	Small       // a note
	Head        // a heading within a section; it stays with what follows
)

// An Outcome is one finding in words, with its mark.
type Outcome struct {
	Mark Mark
	Text string
}

// Mark is the sign that goes with a finding.
type Mark int

// The marks.
const (
	NoMark Mark = iota
	GainMark
	LossMark
	SameMark
	CautionMark
)

// Sign is the mark as a letter.
func (m Mark) Sign() string {
	switch m {
	case GainMark:
		return "▲"
	case LossMark:
		return "▼"
	case SameMark:
		return "●"
	case CautionMark:
		return "!"
	case NoMark:
	}
	return ""
}

// Ink is the colour of the mark.
func (m Mark) Ink() plot.Ink {
	switch m {
	case GainMark:
		return plot.Gain
	case LossMark:
		return plot.Loss
	case SameMark:
		return plot.Same
	case CautionMark:
		return plot.Accent
	case NoMark:
	}
	return plot.Text
}

// A List is a list of sentences.
type List struct {
	Items    []Item
	Numbered bool
}

// An Item is one line of a list; Lead says in a word what it is about.
type Item struct{ Lead, Text string }

func items(texts []string) []Item {
	out := make([]Item, len(texts))
	for i, t := range texts {
		out[i].Text = t
	}
	return out
}

// Facts are names with their values.
type Facts struct{ Rows []Fact }

// A Fact is one name and its value.
type Fact struct{ Name, Value string }

// A Table is a table; it may run over pages, its head is then repeated.
type Table struct {
	Caption string
	Columns []Column
	Rows    []Row
	Notes   []string
}

// A Column is one column of a table. A column of numbers is set to the right and all its cells have the same decimals.
type Column struct {
	Head   string
	Unit   string
	Number bool
}

// A Row is one row of a table, or with Group a line that heads the rows below it.
type Row struct {
	Group string
	Cells []string
	Rest  string // instead of further cells: text over the rest of the row
	Mark  Mark   // stands before the text of the last cell
	Bold  bool
}

// A Picture is a figure with what it says.
type Picture struct {
	Figure  plot.Figure
	Caption string
}

// A Sign is the block for the signatures: who signs each line.
type Sign struct{ Lines []string }

func (Paragraph) block() {}
func (Outcome) block()   {}
func (List) block()      {}
func (Facts) block()     {}
func (Table) block()     {}
func (Picture) block()   {}
func (Sign) block()      {}
