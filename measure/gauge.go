package measure

import (
	"fmt"
	"math"
	"slices"
)

// A GaugeRow is one reading of a repeatability study.
type GaugeRow struct {
	Piece  string
	Person string
	Value  float64 // the reading [unit of x]
}

// A Pooling says whether the interaction of pieces and people is counted as
// repeat scatter.
type Pooling string

// The ways of pooling.
const (
	PoolAuto   Pooling = ""       // when its probability is above 0.25: AIAG, Measurement Systems Analysis (4th ed.), from memory
	PoolNever  Pooling = "never"  // keep it apart
	PoolAlways Pooling = "always" // count it as repeat scatter
)

// A Gauge is what a repeatability study says of a way of measuring.
type Gauge struct {
	Pieces  int  `json:"pieces"`
	People  int  `json:"people"`
	Repeats int  `json:"repeats"` // readings of one piece by one person
	Nested  bool `json:"nested"`  // each person had pieces of their own
	Pooled  bool `json:"pooled"`  // the interaction was counted as repeat scatter

	SSPart        float64 `json:"ss_part"`        // sum of squares of pieces [unit of x squared]
	SSPerson      float64 `json:"ss_person"`      // sum of squares of people [unit of x squared]
	SSInteraction float64 `json:"ss_interaction"` // sum of squares of their interaction [unit of x squared]
	SSRepeat      float64 `json:"ss_repeat"`      // sum of squares of repeats [unit of x squared]
	FInteraction  float64 `json:"f_interaction"`  // mean square of the interaction over that of repeats [-]
	PInteraction  float64 `json:"p_interaction"`  // probability of such an F without interaction [-]

	Mean           float64 `json:"mean"`                 // mean of all readings [unit of x]
	VarRepeat      float64 `json:"variance_repeat"`      // variance of repeats [unit of x squared]
	VarPerson      float64 `json:"variance_person"`      // variance between people [unit of x squared]
	VarInteraction float64 `json:"variance_interaction"` // variance of the interaction [unit of x squared]
	VarReproduce   float64 `json:"variance_reproduce"`   // people and interaction together [unit of x squared]
	VarGauge       float64 `json:"variance_gauge"`       // repeats and reproduction together [unit of x squared]
	VarPart        float64 `json:"variance_part"`        // variance between pieces [unit of x squared]
	VarTotal       float64 `json:"variance_total"`       // all together [unit of x squared]
	GaugeShare     float64 `json:"gauge_share"`          // VarGauge/VarTotal [-]
	Categories     float64 `json:"categories"`           // 1.41·sd of pieces over sd of gauge, how many kinds it tells apart [-]
}

// Eats returns the 95 % half-width of the difference of two single readings of one
// piece by anyone, as a share of a claimed change [-], given in the unit of the
// readings. At 1 or above, the gauge eats the whole claim.
//
//	share = 1.96·√2·sqrt(VarGauge)/|change|
//
// Definition.
func (g Gauge) Eats(change float64) float64 {
	return NormalQuantile(0.975) * math.Sqrt(2*g.VarGauge) / math.Abs(change)
}

// GaugeCrossed analyses a study in which every person read every piece equally
// often, by two-way random analysis of variance. Components that come out negative
// are set to 0.
//
//	σ²_repeat = MS_e,  σ²_inter = (MS_po − MS_e)/r,
//	σ²_person = (MS_o − MS_po)/(p·r),  σ²_part = (MS_p − MS_po)/(o·r)
//
// Pooled, MS_po and MS_e are both the pooled mean square. Source: Montgomery,
// Design and Analysis of Experiments, random two-factor model; Burdick, Borror and
// Montgomery, J. Qual. Technol. 35 (2003) 342. Errors: ErrTooFew below two pieces,
// people or repeats, ErrUnbalanced with the cell that differs, ErrNotFinite.
func GaugeCrossed(rows []GaugeRow, pool Pooling) (Gauge, error) {
	var g Gauge
	pieces, people, cells, err := gaugeCells(rows)
	if err != nil {
		return g, err
	}
	g.Pieces, g.People = len(pieces), len(people)
	if err := atLeast("pieces", g.Pieces, 2); err != nil {
		return g, err
	}
	if err := atLeast("people", g.People, 2); err != nil {
		return g, err
	}
	g.Repeats = len(rows) / (g.Pieces * g.People)
	for _, p := range pieces {
		for _, o := range people {
			if n := len(cells[[2]string{p, o}]); n != g.Repeats || n*g.Pieces*g.People != len(rows) {
				return g, fmt.Errorf("piece %q was read %d times by %q, others %d: %w", p, n, o, max(1, g.Repeats), ErrUnbalanced)
			}
		}
	}
	if err := atLeast("readings of a piece by a person", g.Repeats, 2); err != nil {
		return g, err
	}
	g.crossedSums(pieces, people, cells)
	g.crossedComponents(pool)
	g.totals()
	return g, nil
}

// gaugeCells sorts rows into cells and lists pieces and people in order.
func gaugeCells(rows []GaugeRow) (pieces, people []string, cells map[[2]string][]float64, err error) {
	cells = map[[2]string][]float64{}
	for i, r := range rows {
		if notFinite(r.Value) {
			return nil, nil, nil, fmt.Errorf("reading %d, piece %q by %q, is %v: %w", i+1, r.Piece, r.Person, r.Value, ErrNotFinite)
		}
		if !slices.Contains(pieces, r.Piece) {
			pieces = append(pieces, r.Piece)
		}
		if !slices.Contains(people, r.Person) {
			people = append(people, r.Person)
		}
		key := [2]string{r.Piece, r.Person}
		cells[key] = append(cells[key], r.Value)
	}
	return pieces, people, cells, nil
}

// crossedSums computes the sums of squares from cell means about the grand mean.
func (g *Gauge) crossedSums(pieces, people []string, cells map[[2]string][]float64) {
	p, o, r := float64(g.Pieces), float64(g.People), float64(g.Repeats)
	var all []float64
	mean := map[[2]string]float64{}
	for _, pc := range pieces {
		for _, pe := range people {
			c := cells[[2]string{pc, pe}]
			all = append(all, c...)
			mean[[2]string{pc, pe}] = Mean(c)
			g.SSRepeat += SumSquares(c)
		}
	}
	g.Mean = Mean(all)
	partMean, personMean := map[string]float64{}, map[string]float64{}
	for k, m := range mean {
		partMean[k[0]] += (m - g.Mean) / o
		personMean[k[1]] += (m - g.Mean) / p
	}
	for _, pc := range pieces {
		g.SSPart += o * r * partMean[pc] * partMean[pc]
	}
	for _, pe := range people {
		g.SSPerson += p * r * personMean[pe] * personMean[pe]
	}
	for _, pc := range pieces {
		for _, pe := range people {
			d := mean[[2]string{pc, pe}] - g.Mean - partMean[pc] - personMean[pe]
			g.SSInteraction += r * d * d
		}
	}
}

// crossedComponents finds the variance components from the sums of squares.
func (g *Gauge) crossedComponents(pool Pooling) {
	p, o, r := float64(g.Pieces), float64(g.People), float64(g.Repeats)
	dofPO, dofE := (p-1)*(o-1), p*o*(r-1)
	msP, msO := g.SSPart/(p-1), g.SSPerson/(o-1)
	msPO, msE := g.SSInteraction/dofPO, g.SSRepeat/dofE
	switch {
	case msE > 0:
		g.FInteraction = msPO / msE
	case msPO > 0:
		g.FInteraction = math.MaxFloat64
	}
	g.PInteraction = FUpper(g.FInteraction, dofPO, dofE)
	g.Pooled = pool == PoolAlways || pool == PoolAuto && g.PInteraction > 0.25
	if g.Pooled {
		msE = (g.SSInteraction + g.SSRepeat) / (dofPO + dofE)
		msPO = msE
	}
	g.VarRepeat = msE
	g.VarInteraction = max(0, (msPO-msE)/r)
	g.VarPerson = max(0, (msO-msPO)/(p*r))
	g.VarPart = max(0, (msP-msPO)/(o*r))
}

// totals adds up the components.
func (g *Gauge) totals() {
	g.VarReproduce = g.VarPerson + g.VarInteraction
	g.VarGauge = g.VarRepeat + g.VarReproduce
	g.VarTotal = g.VarGauge + g.VarPart
	if g.VarTotal > 0 {
		g.GaugeShare = g.VarGauge / g.VarTotal
	}
	if g.VarGauge > 0 {
		g.Categories = 1.41 * math.Sqrt(g.VarPart/g.VarGauge)
	}
}

// GaugeNested analyses a study in which each person read pieces of their own, all
// the same number of pieces, each equally often. People and their pieces cannot be
// told apart from one piece each.
//
//	σ²_repeat = MS_e,  σ²_part = (MS_p(o) − MS_e)/r,  σ²_person = (MS_o − MS_p(o))/(p·r)
//
// Source: Montgomery, Design and Analysis of Experiments, two-stage nested design.
// Errors: as GaugeCrossed; ErrUnbalanced also when a piece was read by two people.
func GaugeNested(rows []GaugeRow) (Gauge, error) {
	g := Gauge{Nested: true, PInteraction: 1}
	pieces, people, cells, err := gaugeCells(rows)
	if err != nil {
		return g, err
	}
	if err := atLeast("people", len(people), 2); err != nil {
		return g, err
	}
	g.People = len(people)
	owner := map[string]string{}
	of := map[string][][]float64{}
	for _, pc := range pieces {
		for _, pe := range people {
			c := cells[[2]string{pc, pe}]
			if len(c) == 0 {
				continue
			}
			if owner[pc] != "" && owner[pc] != pe {
				return g, fmt.Errorf("piece %q was read by %q and by %q, so the study is crossed: %w", pc, owner[pc], pe, ErrUnbalanced)
			}
			owner[pc] = pe
			of[pe] = append(of[pe], c)
		}
	}
	g.Pieces, g.Repeats = len(of[people[0]]), len(of[people[0]][0])
	for _, pe := range people {
		if len(of[pe]) != g.Pieces {
			return g, fmt.Errorf("%q read %d pieces, %q %d: %w", pe, len(of[pe]), people[0], g.Pieces, ErrUnbalanced)
		}
		for _, c := range of[pe] {
			if len(c) != g.Repeats {
				return g, fmt.Errorf("a piece of %q was read %d times, others %d: %w", pe, len(c), g.Repeats, ErrUnbalanced)
			}
		}
	}
	if err := atLeast("pieces of each person", g.Pieces, 2); err != nil {
		return g, err
	}
	if err := atLeast("readings of each piece", g.Repeats, 2); err != nil {
		return g, err
	}
	g.nestedComponents(people, of)
	g.totals()
	return g, nil
}

// nestedComponents finds sums of squares and components of a nested study.
func (g *Gauge) nestedComponents(people []string, of map[string][][]float64) {
	p, o, r := float64(g.Pieces), float64(g.People), float64(g.Repeats)
	var personMeans []float64
	for _, pe := range people {
		var means []float64
		for _, c := range of[pe] {
			means = append(means, Mean(c))
			g.SSRepeat += SumSquares(c)
		}
		g.SSPart += r * SumSquares(means)
		personMeans = append(personMeans, Mean(means))
	}
	g.Mean = Mean(personMeans)
	g.SSPerson = p * r * SumSquares(personMeans)
	msE, msP, msO := g.SSRepeat/(o*p*(r-1)), g.SSPart/(o*(p-1)), g.SSPerson/(o-1)
	g.VarRepeat = msE
	g.VarPart = max(0, (msP-msE)/r)
	g.VarPerson = max(0, (msO-msP)/(p*r))
}
