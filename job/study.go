package job

import (
	"fmt"
	"slices"

	"runnel/unit"
)

// A Study is a repeatability study, in a file of its own: several people read several pieces several times.
type Study struct {
	Title    string         `toml:"title"`
	Design   string         `toml:"design" oneof:"crossed,nested"` // crossed: every person read every piece; nested: each read pieces of their own; empty: as the readings say
	Claim    float64        `toml:"claim" dim:"ratio"`             // change that is to be claimed with this way of measuring, relative [-]; 0: none
	Unit     string         `toml:"unit" need:"yes"`               // unit of the values, "cfm"; "1" for a pure number
	Readings []StudyReading `toml:"readings" need:"yes"`
}

// A StudyReading is one reading of a piece by a person.
type StudyReading struct {
	Piece  string  `toml:"piece" need:"yes"`
	Person string  `toml:"person" need:"yes"`
	Value  float64 `toml:"value" need:"yes"` // the reading [Study.Unit]
}

// ReadStudy reads a repeatability study: TOML when the name ends in .toml, else CSV with the columns piece, person and the
// reading with its unit ("piece,person,flow_cfm"); values stay in the unit they were written in. name is used in messages.
// What is wrong is a Problems.
func ReadStudy(name string, data []byte) (Study, error) {
	var out Study
	ps := readSmall(name, data, &out, studyColumns(), func(s *sheet, rows [][]sheetCell) { out.take(s, rows) }, out.check)
	return out, ps.sorted().err()
}

// File writes the study as a TOML file, which ReadStudy reads as the same again.
func (st Study) File() ([]byte, error) { return encode(&st) }

func studyColumns() []sheetColumn {
	return []sheetColumn{
		textColumn("piece", true, "part"),
		textColumn("person", true, "operator", "people"),
		quantityColumn("flow", valueDims(), false, "value", "reading", "effective_area"),
		{key: "value", also: []string{"y"}, kind: sheetNumber},
		{key: "repeat", also: []string{"note", "study"}, kind: sheetPassed},
	}
}

// valueDims are the dimensions that a value of any kind may have; flow comes first as the one to advise.
func valueDims() []unit.Dimension { return append([]unit.Dimension{unit.VolumeFlow}, unit.All()...) }

// valueColumn finds the one column that holds the values, written with its unit or as plain numbers, and its unit.
func (s *sheet) valueColumn(quantity, plain int) (column int, unitName string, ok bool) {
	u, with := s.unitOf(quantity)
	_, without := s.unitOf(plain)
	switch {
	case with && without:
		s.fail(0, "there are two columns of values", "keep one of them")
		return 0, "", false
	case with:
		return quantity, or1(u.Name), true
	case without:
		return plain, "1", true
	}
	s.fail(0, "there is no column of values", fmt.Sprintf("write the readings in a column such as %q", s.columns[quantity].example()))
	return 0, "", false
}

// or1 returns the name of a unit, "1" for the unit of a pure number.
func or1(name string) string {
	if name == "" {
		return "1"
	}
	return name
}

func (st *Study) take(s *sheet, rows [][]sheetCell) {
	k, name, ok := s.valueColumn(2, 3)
	if !ok {
		return
	}
	st.Unit = name
	for _, r := range rows {
		if !r[k].given {
			s.fail(r[0].at, "the reading is empty", "write it, or leave the whole row out")
			continue
		}
		st.Readings = append(st.Readings, StudyReading{Piece: r[0].text, Person: r[1].text, Value: r[k].typed})
	}
}

func (st *Study) check(d *decoder) {
	d.checkUnit(st.Unit)
	if !slices.Contains([]string{"", "crossed", "nested"}, st.Design) {
		d.failAt("design", fmt.Sprintf("design is %q", st.Design), `write "crossed" or "nested", or leave it out`)
	}
	if st.Claim < 0 {
		d.failAt("claim", "the change to be claimed is negative", `write its size, as "2 %"`)
	}
	for i, r := range st.Readings {
		if r.Piece == "" || r.Person == "" {
			d.failAt(fmt.Sprintf("readings[%d]", i), "a reading without a name of piece or person", `write both, as piece = "plate 1", person = "Ann"`)
		}
	}
}

// checkUnit records a unit that is not known.
func (d *decoder) checkUnit(name string) {
	if name == "1" {
		return
	}
	for _, dim := range unit.All() {
		if _, ok := dim.Lookup(name); ok && name != "" {
			return
		}
	}
	d.failAt("unit", fmt.Sprintf("unit %q is not known", name), `write one such as "cfm", "L/s", "mm²", or "1" for a pure number`)
}

// A LabComparison is what several shops found for one travelling piece, in a file of its own.
type LabComparison struct {
	Title     string     `toml:"title"`
	Piece     string     `toml:"piece"`              // what travelled
	Unit      string     `toml:"unit" need:"yes"`    // unit of the values, "cfm"; "1" for a pure number
	Reference *LabEntry  `toml:"reference"`          // a value known better than by any of the shops; nil: none
	Results   []LabEntry `toml:"results" need:"yes"` // one a shop
}

// A LabEntry is the result of one shop.
type LabEntry struct {
	Shop     string  `toml:"shop"`
	Value    float64 `toml:"value" need:"yes"` // the result [LabComparison.Unit]
	U        float64 `toml:"u"`                // standard uncertainty [LabComparison.Unit]; 0: not stated here
	Expanded float64 `toml:"expanded"`         // expanded uncertainty at 95 %, coverage factor 2 [LabComparison.Unit]; 0: not stated here
}

// Standard returns the standard uncertainty [LabComparison.Unit], 0 when none was stated.
func (e LabEntry) Standard() float64 {
	if e.U > 0 {
		return e.U
	}
	return e.Expanded / 2
}

// ReadLabComparison reads what several shops found: TOML when the name ends in .toml, else CSV with the columns shop, the
// result with its unit, and u (standard) or expanded (95 %) in the same unit or in per cent ("shop,flow_cfm,u_percent"). A
// row whose shop is "reference" is the reference. name is used in messages. What is wrong is a Problems.
func ReadLabComparison(name string, data []byte) (LabComparison, error) {
	var out LabComparison
	ps := readSmall(name, data, &out, labColumns(), func(s *sheet, rows [][]sheetCell) { out.take(s, rows) }, out.check)
	return out, ps.sorted().err()
}

// File writes the comparison as a TOML file, which ReadLabComparison reads as the same again.
func (c LabComparison) File() ([]byte, error) { return encode(&c) }

func labColumns() []sheetColumn {
	return []sheetColumn{
		textColumn("shop", true, "bench", "lab"),
		quantityColumn("flow", valueDims(), false, "value", "result", "effective_area"),
		{key: "value", also: []string{"y"}, kind: sheetNumber},
		quantityColumn("u", valueDims(), false, "u_flow", "u_value"),
		{key: "u", also: []string{"u_value"}, kind: sheetNumber},
		quantityColumn("expanded", valueDims(), false, "expanded_flow", "expanded_value"),
		{key: "expanded", also: []string{"expanded_value"}, kind: sheetNumber},
		{key: "note", kind: sheetPassed},
	}
}

func (c *LabComparison) take(s *sheet, rows [][]sheetCell) {
	k, name, ok := s.valueColumn(1, 2)
	if !ok {
		return
	}
	c.Unit = name
	for _, r := range rows {
		if !r[k].given {
			s.fail(r[0].at, "the result is empty", "write it, or leave the whole row out")
			continue
		}
		e := LabEntry{Shop: r[0].text, Value: r[k].typed}
		e.U = s.spread(r[k], r[3], r[4])
		e.Expanded = s.spread(r[k], r[5], r[6])
		if e.U < 0 || e.Expanded < 0 {
			s.fail(r[0].at, "an uncertainty is negative", "write it above zero, or leave it out")
		}
		if e.Shop == "reference" {
			c.Reference = &e
			continue
		}
		if c.has(e.Shop) {
			s.fail(r[0].at, fmt.Sprintf("shop %q stands twice", e.Shop), "give one result a shop")
		}
		c.Results = append(c.Results, e)
	}
}

// spread returns an uncertainty in the unit of the value, however it was written.
func (s *sheet) spread(value, withUnit, plain sheetCell) float64 {
	switch {
	case plain.given:
		return plain.typed
	case !withUnit.given:
		return 0
	case withUnit.dim == unit.Ratio.Name && value.dim != unit.Ratio.Name:
		return withUnit.value * value.typed
	case withUnit.dim != value.dim:
		s.fail(withUnit.at, fmt.Sprintf("the uncertainty is a %s and the result a %s", withUnit.dim, value.dim), "write both in one unit, or the uncertainty in per cent")
		return 0
	}
	return withUnit.typed * withUnit.unit.Factor / value.unit.Factor
}

func (c *LabComparison) check(d *decoder) {
	d.checkUnit(c.Unit)
	for i, e := range c.Results {
		if e.Shop == "" {
			d.failAt(fmt.Sprintf("results[%d]", i), "a result without a shop", `write shop = "name"`)
		}
		c.checkEntry(d, e, fmt.Sprintf("results[%d]", i))
	}
	if c.Reference != nil {
		c.checkEntry(d, *c.Reference, "reference")
	}
	for i, e := range c.Results {
		if before := (LabComparison{Results: c.Results[:i]}); e.Shop != "" && before.has(e.Shop) {
			d.failAt(fmt.Sprintf("results[%d].shop", i), fmt.Sprintf("shop %q stands twice", e.Shop), "give one result a shop")
		}
	}
}

func (c *LabComparison) has(shop string) bool {
	return slices.ContainsFunc(c.Results, func(x LabEntry) bool { return x.Shop == shop })
}

func (*LabComparison) checkEntry(d *decoder, e LabEntry, key string) {
	if e.U < 0 || e.Expanded < 0 {
		d.failAt(key, "an uncertainty is negative", "write it above zero, or leave it out")
	}
	if e.U > 0 && e.Expanded > 0 {
		d.failAt(key, "both a standard and an expanded uncertainty", "write one of u and expanded")
	}
}
