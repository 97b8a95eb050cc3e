package app

import (
	"fmt"
	"math"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
)

// A StudyAnswer is what a repeatability study says. Values and variances are in the unit of the study and its square.
type StudyAnswer struct {
	Title         string `json:"title,omitempty"`
	Design        string `json:"design"` // crossed or nested
	Unit          string `json:"unit"`   // of the readings; variances are in its square
	measure.Gauge        // components of variance [unit of the study squared]

	SDRepeat    float64  `json:"sd_repeat"`    // standard deviation of repeats [unit of the study]
	SDReproduce float64  `json:"sd_reproduce"` // of people and interaction [unit of the study]
	SDGauge     float64  `json:"sd_gauge"`     // of both together [unit of the study]
	SDGaugeRel  float64  `json:"sd_gauge_rel"` // SDGauge over the mean [-]
	SDPart      float64  `json:"sd_part"`      // between pieces [unit of the study]
	Claim       float64  `json:"claim_rel"`    // change that is to be claimed, relative [-]; 0: none was named
	Eats        float64  `json:"eats_share"`   // share of the claim that the gauge eats [-]: at 1 nothing is left; 0 without a claim
	LeastChange float64  `json:"least_rel"`    // smallest change that two single readings can show, relative [-]
	Warnings    []string `json:"warnings"`
}

// A ScatterSource is one source of the scatter of a study.
type ScatterSource struct {
	Name         string
	Variance, SD float64 // [unit of the study, squared and plain]
	Share        float64 // of all variance [-]
}

// Sources are what the scatter of a study comes from: repeats, people, these two together, pieces.
func (a StudyAnswer) Sources() []ScatterSource {
	all := []ScatterSource{
		{Name: "Repeats", Variance: a.VarRepeat, SD: a.SDRepeat},
		{Name: "People", Variance: a.VarReproduce, SD: a.SDReproduce},
		{Name: "Gauge, both together", Variance: a.VarGauge, SD: a.SDGauge},
		{Name: "Pieces", Variance: a.VarPart, SD: a.SDPart},
	}
	for i := range all {
		all[i].Share = all[i].Variance / a.VarTotal
	}
	return all
}

// UnitWord is the unit of a study or a comparison as it stands behind a number: nothing for a pure number.
func UnitWord(name string) string {
	if name == "1" {
		return ""
	}
	return name
}

// Study analyses a repeatability study. claim [-], when above zero, stands in for the one of the study.
func Study(s job.Study, claim float64) (StudyAnswer, error) {
	rows := make([]measure.GaugeRow, len(s.Readings))
	for i, r := range s.Readings {
		rows[i] = measure.GaugeRow{Piece: r.Piece, Person: r.Person, Value: r.Value}
	}
	out := StudyAnswer{Title: s.Title, Design: s.Design, Unit: s.Unit, Claim: s.Claim, Warnings: []string{}}
	if claim > 0 {
		out.Claim = claim
	}
	if out.Design == "" {
		out.Design = designOf(s.Readings)
	}
	var err error
	if out.Design == "nested" {
		out.Gauge, err = measure.GaugeNested(rows)
	} else {
		out.Gauge, err = measure.GaugeCrossed(rows, measure.PoolAuto)
	}
	if err != nil {
		return StudyAnswer{}, fault.Errorf(fault.Invalid, "%s study: %w", out.Design, err)
	}
	g := out.Gauge
	out.SDRepeat, out.SDReproduce, out.SDGauge, out.SDPart = math.Sqrt(g.VarRepeat), math.Sqrt(g.VarReproduce), math.Sqrt(g.VarGauge), math.Sqrt(g.VarPart)
	if g.VarTotal == 0 {
		return StudyAnswer{}, fault.Errorf(fault.Invalid, "all readings are equal to the last digit, so they say nothing about the gauge: read more finely: %w", measure.ErrNoScatter)
	}
	if g.Mean != 0 {
		out.SDGaugeRel = out.SDGauge / math.Abs(g.Mean)
		out.LeastChange = g.Eats(math.Abs(g.Mean))
		if out.Claim > 0 {
			out.Eats = g.Eats(out.Claim * math.Abs(g.Mean))
		}
	}
	if g.People < 3 {
		out.Warnings = append(out.Warnings, fmt.Sprintf("%d people: the share of people is little more than a guess; three or more are common practice, no source", g.People))
	}
	if g.Pieces < 5 {
		out.Warnings = append(out.Warnings, fmt.Sprintf("%d pieces: the scatter between pieces is little more than a guess; five or more are common practice, no source", g.Pieces))
	}
	if g.VarRepeat == 0 {
		out.Warnings = append(out.Warnings, "repeats are equal to the last digit: the reading is too coarse to show its scatter")
	}
	return out, nil
}

// designOf says whether each piece was read by one person only.
func designOf(rs []job.StudyReading) string {
	by := map[string]string{}
	for _, r := range rs {
		if p, ok := by[r.Piece]; ok && p != r.Person {
			return "crossed"
		}
		by[r.Piece] = r.Person
	}
	people := map[string]bool{}
	for _, r := range rs {
		people[r.Person] = true
	}
	if len(people) < 2 {
		return "crossed"
	}
	return "nested"
}

// A LabsAnswer is how several shops agree on a travelling piece, in the unit they reported in.
type LabsAnswer struct {
	Title string `json:"title,omitempty"`
	Piece string `json:"piece,omitempty"`
	Unit  string `json:"unit"` // of every value below but the scores

	measure.BetweenLabs

	Reference bool     `json:"reference"` // the results are held against a reference and not against each other
	Notes     []string `json:"notes"`     // limits that were left, in words
}

// CompareBenches scores what several shops found for one travelling piece.
func CompareBenches(c job.LabComparison) (LabsAnswer, error) {
	results := make([]measure.LabResult, len(c.Results))
	for i, e := range c.Results {
		results[i] = measure.LabResult{Lab: e.Shop, Value: e.Value, U: e.Standard()}
	}
	var ref *measure.LabResult
	if c.Reference != nil {
		ref = &measure.LabResult{Lab: "reference", Value: c.Reference.Value, U: c.Reference.Standard()}
	}
	b, err := measure.CompareLabs(results, ref)
	if err != nil {
		return LabsAnswer{}, fault.Errorf(fault.Invalid, "comparison of benches: %w", err)
	}
	return LabsAnswer{Title: c.Title, Piece: c.Piece, Unit: c.Unit, BetweenLabs: b, Reference: ref != nil, Notes: measureWords(b.Warnings)}, nil
}
