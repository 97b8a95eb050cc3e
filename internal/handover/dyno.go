package handover

import (
	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

// dyno says what a dynamometer run taught: how far the engine was off it and is, what became of each unknown and of the bands, and that
// nothing absolute is promised for it.
func (b *builder) dyno(d assess.DynoFit) []Block {
	out := []Block{Paragraph{Text: "Fitted to a dynamometer run", Style: Head}, Paragraph{Text: b.told(d.Note)}}
	st := b.o.System.Torque()
	if words := d.BandWords(func(nm float64) string { return plot.Number(st.Value(nm), 1) + nb + st.Unit }); words != "" {
		out = append(out, Paragraph{Text: words})
	}
	for _, w := range d.Warnings {
		out = append(out, Outcome{Mark: CautionMark, Text: sentence(b.told(w))})
	}
	var unknowns []string
	for _, k := range d.Unknowns {
		unknowns = append(unknowns, upper(b.told(k.Words())))
	}
	out = append(out, dynoTable(d))
	if len(unknowns) > 0 {
		out = append(out, Paragraph{Text: "What the run says of what was not known (± is a standard uncertainty):", Style: Small}, List{Items: items(unknowns)})
	}
	return out
}

func dynoTable(d assess.DynoFit) Table {
	nm, lb := unit.Metric.Torque(), unit.US.Torque()
	t := Table{Columns: []Column{
		{Head: "Speed", Unit: "rpm", Number: true},
		{Head: "Run", Unit: nm.Unit, Number: true},
		{Head: "Model as assumed", Unit: nm.Unit, Number: true},
		{Head: "off", Unit: "%", Number: true},
		{Head: "Model as fitted", Unit: nm.Unit, Number: true},
		{Head: "off", Unit: "%", Number: true},
		{Head: "Run", Unit: lb.Unit, Number: true},
		{Head: "as assumed", Unit: lb.Unit, Number: true},
		{Head: "as fitted", Unit: lb.Unit, Number: true},
	}}
	for _, p := range d.Points {
		if p.Torque == 0 {
			continue
		}
		t.Rows = append(t.Rows, Row{Cells: []string{
			plot.Number(p.Speed, 0), plot.Number(p.Torque, 1), plot.Number(p.Before, 1), plot.Signed(100*(p.Before/p.Torque-1), 1),
			plot.Number(p.After, 1), plot.Signed(100*(p.After/p.Torque-1), 1),
			plot.Number(lb.Value(p.Torque), 1), plot.Number(lb.Value(p.Before), 1), plot.Number(lb.Value(p.After), 1),
		}})
	}
	t.Notes = []string{"The run as a whole is trusted to 2 %, so a common deviation of that size may be the dynamometer's and is left to it."}
	return t
}
