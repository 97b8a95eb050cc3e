package handover

import (
	"math"
	"slices"
	"strings"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
	"runnel/unit"
)

func (b *builder) setup() Section {
	s := Section{ID: "setup", Title: "How each test was set up"}
	t := Table{Caption: "Rig cards", Columns: []Column{
		{Head: "Card"}, {Head: "Piece"}, {Head: "Entry"}, {Head: "Blanked"}, {Head: "Meter"}, {Head: "Test pressure"}, {Head: "Fitted, notes"},
	}}
	for _, r := range b.j.Rigs {
		if !b.usedRig(r.ID) {
			continue
		}
		t.Rows = append(t.Rows, Row{Cells: []string{
			r.ID, b.piece(r.Piece), b.entrySizes(r), orDash(r.Blanked), b.meter(r.Meter), bothPressures(r.TestPressure), orDash(b.rigNotes(r)),
		}})
	}
	if len(t.Rows) > 0 {
		s.Blocks = append(s.Blocks, t)
	}
	if m := b.meterTable(); len(m.Rows) > 0 {
		s.Blocks = append(s.Blocks, m)
	}
	return s
}

func (b *builder) usedRig(id string) bool {
	return slices.ContainsFunc(b.a.Readings, func(r assess.Reading) bool { return r.Rig == id })
}

// entrySizes writes the entry with its radius and bore: "radiused, 12.0 mm on 44.0 mm".
func (b *builder) entrySizes(r job.RigCard) string {
	s := r.Entry
	if s == "" {
		s = "bare"
	}
	length := b.o.System.Length()
	if r.EntryRadius > 0 {
		s += ", radius " + nbUnit(length.Show(r.EntryRadius))
	}
	if r.EntryBore > 0 {
		s += ", bore " + nbUnit(length.Show(r.EntryBore))
	}
	if r.Direction == "out" {
		s += ", flowed outwards"
	}
	return s
}

func (b *builder) rigNotes(r job.RigCard) string {
	var parts []string
	for _, id := range r.Fitted {
		parts = append(parts, b.piece(id)+" fitted")
	}
	for _, w := range []string{r.Adaptor, r.Note} {
		if w != "" {
			parts = append(parts, w)
		}
	}
	return strings.Join(parts, "; ")
}

func (b *builder) meter(id string) string {
	for _, m := range b.j.Bench.Meters {
		if m.ID == id && m.Title != "" {
			return m.Title
		}
	}
	return id
}

// meterKind says what a meter is and which document its flow equation comes from.
func meterKind(kind string) (what, source string) {
	switch kind {
	case "orifice_pipe":
		return "orifice plate in a pipe", "ISO 5167-2"
	case "orifice_chamber":
		return "orifice plate between two chambers", "outside ISO 5167, with a wider uncertainty"
	case "nozzle_isa1932":
		return "ISA 1932 nozzle", "ISO 5167-3"
	case "nozzle_long_radius":
		return "long-radius nozzle", "ISO 5167-3"
	case "nozzle_venturi":
		return "Venturi nozzle", "ISO 5167-3"
	case "venturi_machined", "venturi_cast", "venturi_welded":
		return "Venturi tube", "ISO 5167-4"
	case "nozzle_critical":
		return "critical-flow nozzle", "ISO 9300"
	case "laminar":
		return "laminar element", "its calibration"
	case "plate_percent":
		return "calibrated plate on a percent scale", "its calibration"
	case "table":
		return "flow sensor with a transfer curve", "its calibration"
	}
	return kind, "–"
}

func (b *builder) usedMeter(id string) bool {
	return slices.ContainsFunc(b.j.Rigs, func(r job.RigCard) bool { return r.Meter == id && b.usedRig(r.ID) })
}

func (b *builder) meterTable() Table {
	length := b.o.System.Length()
	t := Table{
		Caption: "Meters",
		Columns: []Column{{Head: "Meter"}, {Head: "Kind"}, {Head: "Pipe"}, {Head: "Bore"}, {Head: "Computed after"}},
	}
	for _, m := range b.j.Bench.Meters {
		if !b.usedMeter(m.ID) {
			continue
		}
		what, source := meterKind(m.Kind)
		if m.Taps != "" && m.Kind == "orifice_pipe" {
			what += ", " + tapsWords(m.Taps)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{b.meter(m.ID), what, size(length, m.Pipe), size(length, m.Bore), source}})
	}
	if p := b.j.Bench.CheckPlate; p.EffectiveArea > 0 {
		t.Notes = append(t.Notes, "Check plate "+p.ID+": known effective area "+nbUnit(unit.Metric.Area().Show(p.EffectiveArea))+" ("+
			nbUnit(unit.US.Area().Show(p.EffectiveArea))+"), standard uncertainty "+percent(p.U, 2)+".")
	}
	if b.j.Bench.SetupRepeat > 0 {
		t.Notes = append(t.Notes, "Clamping and sealing anew: standard uncertainty "+percent(b.j.Bench.SetupRepeat, 2)+".")
	}
	return t
}

func tapsWords(taps string) string {
	if taps == "d-d2" {
		return "D and D/2 taps"
	}
	return taps + " taps"
}

func size(st unit.Style, v float64) string {
	if v <= 0 {
		return "–"
	}
	return nbUnit(st.Show(v))
}

func (b *builder) sittings() Section {
	s := Section{ID: "sittings", Title: "The state of the bench"}
	press, temp, flow, density := b.o.System.Barometer(), b.o.System.Temperature(), b.o.System.Flow(), b.o.System.Density()
	t := Table{Columns: []Column{
		{Head: "Sitting"},
		{Head: "Day"},
		{Head: "By"},
		{Head: "Air pressure", Unit: press.Unit},
		{Head: "Temperature", Unit: temp.Unit},
		{Head: "Humidity", Unit: "%"},
		{Head: "Density", Unit: density.Unit, Number: true},
		{Head: "Leakage", Unit: flow.Unit, Number: true},
		{Head: "Check plate", Unit: "%"},
		{Head: "Marks"},
	}}
	for _, st := range b.a.Sittings {
		in := b.sittingOf(st.ID)
		row := Row{Cells: []string{
			st.ID, nbUnit(day(in.At)), orDash(in.By),
			airRange(in.Air, press.Decimals, func(a job.AirRecord) float64 { return press.Value(a.Pressure) }),
			airRange(in.Air, temp.Decimals, func(a job.AirRecord) float64 { return temp.Value(a.Temperature) }),
			airRange(in.Air, 0, func(a job.AirRecord) float64 { return 100 * a.Humidity }),
			plot.Number(density.Value(st.Density), density.Decimals-1), plot.Number(flow.Value(st.LeakFlow), flow.Decimals),
			deviations(st.CheckDeviation), orDash(strings.Join(sentences(b.toldAll(st.Marks)), " ")),
		}}
		if len(st.Marks) > 0 {
			row.Mark = CautionMark
			b.w.number(st.Marks)
		}
		t.Rows = append(t.Rows, row)
	}
	if len(t.Rows) == 0 {
		return s
	}
	t.Notes = []string{"Leakage is stated at the reference test pressure; it is taken off every reading as mass flow. Check plate: read over known, less one, in order of time."}
	s.Blocks = append(s.Blocks, t)
	if f, ok := b.checkFigure(); ok {
		s.Blocks = append(s.Blocks, Picture{Figure: f, Caption: "Flows of the check plate in order of time. Beyond the dashed limits a sitting is marked, and its readings carry the mark."})
	}
	return s
}

func (b *builder) sittingOf(id string) job.Sitting {
	for _, s := range b.j.Sittings {
		if s.ID == id {
			return s
		}
	}
	return job.Sitting{}
}

// airRange writes the least and the greatest value of the air records.
func airRange(air []job.AirRecord, decimals int, of func(job.AirRecord) float64) string {
	if len(air) == 0 {
		return "–"
	}
	lo, hi := of(air[0]), of(air[0])
	for _, a := range air {
		lo, hi = min(lo, of(a)), max(hi, of(a))
	}
	a, z := plot.Number(lo, decimals), plot.Number(hi, decimals)
	if a == z {
		return a
	}
	return a + " to " + z
}

func deviations(all []float64) string {
	var out []string
	for _, d := range all {
		out = append(out, plot.Signed(100*d, 2))
	}
	return orDash(strings.Join(out, ", "))
}

func (b *builder) checkFigure() (plot.Figure, bool) {
	limit := b.j.Bench.CheckPlate.Limit
	if limit == 0 {
		limit = 0.01 // the default of the bench card
	}
	var points []plot.CheckPoint
	for _, s := range b.a.Sittings {
		for i, d := range s.CheckDeviation {
			label := s.ID
			if len(s.CheckDeviation) > 1 {
				label += ", " + plot.Number(float64(i+1), 0)
			}
			points = append(points, plot.CheckPoint{Label: label, Deviation: d, Smoothed: math.NaN()})
		}
	}
	return plot.ControlChart(points, limit), len(points) > 1
}
