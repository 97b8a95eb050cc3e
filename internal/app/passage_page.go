package app

import (
	"fmt"
	"math"
	"strings"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/passage"
	"runnel/tract"
	"runnel/unit"
)

// A LedgerAsk is what the page asks of the ledger of a state; what is empty is taken from the job.
type LedgerAsk struct {
	Drop    string // test pressure
	Surface string // "cast", "worked" or "smooth"
	Rig     string // whose readings it is held against; empty: the one with the most
	Entry   string // radius of the entry; empty: from the rig card
}

// A StateLedger is the ledger of a state with the reading it is held against.
type StateLedger struct {
	LedgerAnswer

	Rig     string   // empty: there is no reading
	Rigs    []string // with readings of this opening and round
	Count   int      // readings the mean is of
	Entry   tract.Entry
	Surface string
}

// Ledger draws up the ledger of a state at the job's reference, held against the readings of its opening and round.
func (b PassageBook) Ledger(s PassageState, readings []assess.Reading, ask LedgerAsk) (StateLedger, error) {
	out := StateLedger{Surface: ask.Surface}
	if out.Surface == "" {
		out.Surface = "cast"
	}
	c := LedgerCase{Passage: s.Passage, Air: referenceAir(b), Surface: out.Surface, LeastWall: b.Piece.LeastWall}
	c.Drop = orElse(b.Job.Reference.TestPressure, unit.Pressure.Of(28, "inH2O"))
	if ask.Drop != "" {
		v, err := unit.Pressure.Parse(ask.Drop)
		if err != nil {
			return out, invalid(err)
		}
		c.Drop = v
	}
	rig := out.measured(&c, b, s, readings, ask.Rig)
	if rig.Entry == "radiused" {
		c.Entry.Radius = orElse(rig.EntryRadius, 0.2*s.Passage.Place(s.Passage.Start()).EquivalentDiameter())
	}
	if ask.Entry != "" {
		v, err := unit.Length.Parse(ask.Entry)
		if err != nil {
			return out, invalid(err)
		}
		c.Entry.Radius = v
	}
	out.Entry = c.Entry
	var err error
	out.LedgerAnswer, err = Ledger(c)
	if err != nil && c.Reading > 0 {
		reading := c.Reading
		c.Reading, c.UReading = 0, 0
		var again error
		if out.LedgerAnswer, again = Ledger(c); again == nil {
			out.Warnings = append(out.Warnings, fmt.Sprintf("the reading, %.1f mm² effective, cannot be held against these sections: %v", 1e6*reading, err))
			return out, nil
		}
	}
	return out, err
}

// measured fills in the mean reading of the opening in the round of a state.
func (l *StateLedger) measured(c *LedgerCase, b PassageBook, s PassageState, readings []assess.Reading, want string) job.RigCard {
	n, sum, u := map[string]int{}, map[string]float64{}, map[string]float64{}
	for _, r := range readings {
		if !r.Usable || r.Piece != b.Piece.ID || r.Opening != b.Opening || r.Round != s.Round || r.Lift != 0 {
			continue
		}
		if n[r.Rig] == 0 {
			l.Rigs = append(l.Rigs, r.Rig)
		}
		n[r.Rig]++
		sum[r.Rig] += r.EffectiveArea
		u[r.Rig] = max(u[r.Rig], r.URel)
	}
	for _, r := range l.Rigs {
		if r == want || n[r] > n[l.Rig] && n[want] == 0 {
			l.Rig = r
		}
	}
	if l.Rig == "" {
		return job.RigCard{}
	}
	l.Count = n[l.Rig]
	c.Reading, c.UReading = sum[l.Rig]/float64(l.Count), u[l.Rig]
	for _, r := range b.Job.Rigs {
		if r.ID == l.Rig {
			return r
		}
	}
	return job.RigCard{}
}

// AlloyDensity returns the density of the alloy a piece is said to be made of [kg/m³], and in words what was taken.
func AlloyDensity(material string) (density float64, words string) {
	low := strings.ToLower(material)
	switch {
	case strings.Contains(low, "magnes"):
		return passage.DensityMagnesium, "cast magnesium"
	case strings.Contains(low, "iron") || strings.Contains(low, "steel"):
		return passage.DensityIron, "cast iron"
	case strings.Contains(low, "alumin") || strings.Contains(low, "alloy"):
		return passage.DensityAluminium, "aluminium"
	}
	return passage.DensityAluminium, "aluminium, as no material is named"
}

// Removed says what was taken off between two states of a passage.
func (b PassageBook) Removed(before, after PassageState) (passage.Difference, error) {
	density, _ := AlloyDensity(b.Piece.Material)
	how := passage.AlignEntry // tape is laid from the same entry each time
	if before.Source == "mesh" || after.Source == "mesh" {
		how = passage.AlignBest // a mould may be cut off anywhere
	}
	d, err := passage.Compare(before.Passage, after.Passage, how, density)
	if err != nil {
		return d, fault.As(fault.Invalid, err)
	}
	least := b.Piece.LeastWall
	for _, c := range d.Places {
		if c.Wall > 0 && c.Wall < least {
			d.Warnings = append(d.Warnings, fmt.Sprintf("at %.0f mm the wall is down to %.2f mm, below the least wall of %.2f mm: stop there, and measure it", 1e3*c.At, 1e3*c.Wall, 1e3*least))
			break
		}
	}
	return d, nil
}

// WordsOnWall are the cautions that go with a state: what is not known about its wall, and where it is too thin already.
func (b PassageBook) WordsOnWall(s PassageState) []string {
	var out []string
	least := b.Piece.LeastWall
	if !s.Passage.HasWall() {
		out = append(out, "The wall was not measured at every station. Measure it with an ultrasonic gauge before cutting: nothing is advised to be opened until then.")
	}
	if least == 0 {
		out = append(out, `No least wall is set for this piece: write least_wall = "3 mm" in its card before anything is cut.`)
	}
	thin, at := math.Inf(1), 0.0
	for _, st := range s.Passage.Stations() {
		if st.Wall > 0 && st.Wall < thin {
			thin, at = st.Wall, st.At
		}
	}
	if thin < least {
		out = append(out, fmt.Sprintf("At %.0f mm the wall is %.2f mm, already below the least wall of %.2f mm.", 1e3*at, 1e3*thin, 1e3*least))
	}
	return out
}
