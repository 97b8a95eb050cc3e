package tract

import (
	"fmt"
	"math"
	"slices"

	"runnel/passage"
)

// Kinds of loss.
const (
	kindEntry     = "entry"
	kindFriction  = "friction"
	kindWidening  = "widening"
	kindNarrowing = "narrowing"
	kindBend      = "bend"
)

const (
	places   = 120                 // places a passage is divided into for the ledger, about [-]
	ripple   = 0.02                // change of area below which a rise or fall is no run of its own [-]
	steep    = 40 * math.Pi / 180  // full angle beyond which a part of a run is a loss of its own [rad]
	exitMost = 1.06                // kinetic-energy factor of a developed turbulent profile at its most [-]
	boxy     = 0.9                 // area over width times height from which a section counts as a rectangle [-]: an ellipse has 0.785
	closeBy  = 4.0                 // bores within which two bends disturb each other [-]: Miller (1990), from memory
	rowsMost = 12                  // lines of wall friction in a ledger [-]
	bestK    = 0.03                // loss of the best rounded entry [-]. Source: Idelchik, r/D ≥ 0.2
	bestEdge = 0.2                 // edge radius over bore of the best entry [-]
	halfTurn = 180 / math.Pi       // [°/rad]
	tiny     = 1e-9                // [m]
	rangeOf  = 1 / 3.4641016151378 // standard deviation of an even spread over its width [-]
)

// element is one thing that takes total pressure.
type element struct {
	kind         string
	row          int     // line of the ledger
	place        int     // first place of the grid behind it
	index        int     // place of the grid whose head it takes its share of
	from, to     int     // places of the grid it spans
	length       float64 // of wall, or of a taper [m]
	angle        float64 // of a bend [rad]
	radius       float64 // of a bend [m]
	width, depth float64 // of a bend that is not round, in its plane and across, else 0 [m]
	boxed        bool    // it is a rectangular bend, about
}

// slope is ∂K/∂ln A at one place of the grid.
type slope struct {
	index int
	slope float64
}

// chain is a passage made ready for the air: places, elements in order, and the lines of the ledger they belong to.
type chain struct {
	air       Air
	entry     Entry
	sand      float64
	roughness Roughness
	grid      []passage.Place
	elements  []element
	rows      []Loss
	warnings  []string
}

func (c Case) chain() (*chain, error) {
	ch := &chain{air: c.Air, entry: c.Entry, sand: c.Roughness.Sand, roughness: c.Roughness}
	st := c.Passage.Stations()
	length := c.Passage.Length()
	for i, s := range st {
		if i > 0 {
			gap := s.At - st[i-1].At
			n := max(1, int(math.Ceil(gap/length*places-tiny)))
			for k := 1; k < n; k++ {
				ch.grid = append(ch.grid, c.Passage.Place(st[i-1].At+gap*float64(k)/float64(n)))
			}
		}
		ch.grid = append(ch.grid, c.Passage.Place(s.At))
	}
	if err := ch.addEntry(); err != nil {
		return nil, err
	}
	ch.addFriction(st)
	ch.addRuns(st)
	ch.addBends(c.Passage.Bends(), st)
	slices.SortStableFunc(ch.elements, func(a, b element) int { return a.place - b.place })
	ch.sortRows()
	return ch, nil
}

// sortRows puts the lines of the ledger in the order the air meets them.
func (ch *chain) sortRows() {
	order := make([]int, len(ch.rows))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := ch.rows[a].From, ch.rows[b].From; {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	rows, at := make([]Loss, len(order)), make([]int, len(order))
	for i, o := range order {
		rows[i], at[o] = ch.rows[o], i
	}
	ch.rows = rows
	for i := range ch.elements {
		ch.elements[i].row = at[ch.elements[i].row]
	}
}

// find returns the place of the grid nearest to a distance [m].
func (ch *chain) find(at float64) int {
	i, _ := slices.BinarySearchFunc(ch.grid, at, func(p passage.Place, at float64) int {
		switch {
		case p.At < at:
			return -1
		case p.At > at:
			return 1
		}
		return 0
	})
	if i == len(ch.grid) || i > 0 && at-ch.grid[i-1].At < ch.grid[i].At-at {
		i--
	}
	return i
}

func (ch *chain) addEntry() error {
	k, err := ch.entryLoss(ch.grid[0].EquivalentDiameter())
	if err != nil {
		return fmt.Errorf("%w: %w", ErrLedger, err)
	}
	name := "entry: bare"
	if ch.entry.Projecting {
		name = "entry: bare end standing out"
	} else if ch.entry.Radius > 0 {
		name = fmt.Sprintf("entry: radius %.1f mm", 1e3*ch.entry.Radius)
	}
	at := ch.grid[0].At
	ch.rows = append(ch.rows, Loss{Name: name, Kind: kindEntry, From: at, To: at, K: k.K, Lo: k.Lo, Hi: k.Hi, Section: ch.grid[0].Area, Source: k.Source})
	ch.warnings = append(ch.warnings, k.Warnings...)
	ch.elements = append(ch.elements, element{kind: kindEntry, row: len(ch.rows) - 1})
	return nil
}

func (ch *chain) entryLoss(bore float64) (Coefficient, error) {
	if ch.entry.Projecting {
		return passage.ThinEntryLoss(ch.entry.Wall / bore)
	}
	return passage.EntryLoss(ch.entry.Radius / bore)
}

// addFriction adds the wall of every step of the grid, half of it with the section at either end.
func (ch *chain) addFriction(st []passage.Station) {
	ends := make([]float64, 0, rowsMost+1)
	if len(st)-1 <= rowsMost {
		for _, s := range st {
			ends = append(ends, s.At)
		}
	} else {
		first, last := st[0].At, st[len(st)-1].At
		for i := range rowsMost + 1 {
			ends = append(ends, ch.grid[ch.find(first+(last-first)*float64(i)/rowsMost)].At)
		}
	}
	row := -1
	for i := 1; i < len(ch.grid); i++ {
		a, b := ch.grid[i-1].At, ch.grid[i].At
		if len(ends) > 1 && a >= ends[0]-tiny {
			ch.rows = append(ch.rows, Loss{
				Name: fmt.Sprintf("wall friction, %.0f–%.0f mm, %s", 1e3*(ends[0]-st[0].At), 1e3*(ends[1]-st[0].At), ch.roughness.Name),
				Kind: kindFriction, From: ends[0], To: ends[1], Source: "Colebrook; roughness " + ch.roughness.Name,
			})
			row, ends = len(ch.rows)-1, ends[1:]
		}
		ch.elements = append(ch.elements,
			element{kind: kindFriction, row: row, place: i, index: i - 1, length: (b - a) / 2},
			element{kind: kindFriction, row: row, place: i, index: i, length: (b - a) / 2})
	}
}

// addRuns adds the runs of falling and rising area. They begin and end at stations, since nothing overshoots between.
func (ch *chain) addRuns(st []passage.Station) {
	for _, r := range runs(st) {
		a, b := st[r.from], st[r.to]
		e := element{kind: kindNarrowing, from: ch.find(a.At), to: ch.find(b.At), length: b.At - a.At}
		var k Coefficient
		word := "narrowing"
		if b.Area > a.Area {
			e.kind, word = kindWidening, "widening"
			e.index, e.place = e.from, e.from+1
			k = GradualExpansion(a.Area, b.Area, e.length, 0)
		} else {
			e.index, e.place = e.to, e.to
			k = GradualContraction(a.Area, b.Area, e.length, 0)
		}
		ch.rows = append(ch.rows, Loss{
			Name: fmt.Sprintf("%s, %.0f to %.0f mm² over %.0f mm", word, 1e6*a.Area, 1e6*b.Area, 1e3*e.length), Kind: e.kind, From: a.At, To: b.At,
			K: k.K, Lo: k.Lo, Hi: k.Hi, Section: ch.grid[e.index].Area, Source: k.Source,
		})
		e.row = len(ch.rows) - 1
		ch.elements = append(ch.elements, e)
	}
}

type run struct{ from, to int }

// runs returns the monotone parts of the area over the stations, ripples left out, cut where the taper changes between gentle and steep.
func runs(st []passage.Station) []run {
	turns := turningPoints(st)
	var out []run
	for k := 1; k < len(turns); k++ {
		a, b := turns[k-1], turns[k]
		if math.Abs(st[a].Area-st[b].Area) <= ripple*min(st[a].Area, st[b].Area) {
			continue
		}
		from := a
		for i := a + 1; i <= b; i++ {
			if i == b || isSteep(st[i-1], st[i]) != isSteep(st[i], st[i+1]) {
				if (st[from].Area > st[i].Area) == (st[a].Area > st[b].Area) {
					out = append(out, run{from, i})
				}
				from = i
			}
		}
	}
	return out
}

// turningPoints returns the stations where the area turns from falling to rising or back by more than a ripple, and both ends.
func turningPoints(st []passage.Station) []int {
	turns := []int{0}
	low, high, way := 0, 0, 0
	for i, s := range st {
		if way <= 0 && s.Area < st[low].Area {
			low = i
		}
		if way >= 0 && s.Area > st[high].Area {
			high = i
		}
		switch {
		case way <= 0 && s.Area > st[low].Area*(1+ripple):
			if low > 0 {
				turns = append(turns, low)
			}
			way, high = 1, i
		case way >= 0 && s.Area < st[high].Area*(1-ripple):
			if high > 0 {
				turns = append(turns, high)
			}
			way, low = -1, i
		}
	}
	return append(turns, len(st)-1)
}

func isSteep(a, b passage.Station) bool { return coneAngle(a.Area, b.Area, b.At-a.At) > steep }
