package tract

import (
	"errors"
	"fmt"
	"math"
)

// Reasons why pieces could not be put in series.
var (
	ErrNoPieces = errors.New("no pieces")
	ErrNoArea   = errors.New("an area is not above zero")
	ErrPressure = errors.New("test pressure does not fit the upstream pressure")
)

// CompressibleBelow is the pressure ratio of any one piece, or of the whole, below which the compressible form is used [-].
const CompressibleBelow = 0.95

// A Piece is a piece as it was flowed alone, from still air into still air.
type Piece struct {
	Name     string
	Area     float64 // effective area of one opening, measured alone [m²]
	U        float64 // standard uncertainty of Area that it shares with no other piece, relative [-]
	Feeds    float64 // openings this piece feeds at the same time, as a throttle body does [-]; 0 counts as 1
	Entry    float64 // section where the air enters [m²]; 0: not known, and the joint counts as matched
	Exit     float64 // section where the air leaves [m²]; 0: not known, and no head is carried on
	UExit    float64 // standard uncertainty of Exit, relative [-]
	Carried  float64 // share of the exit velocity head carried into the next piece η [-]: 0 into a plenum, 1 in a matched joint
	UCarried float64 // standard uncertainty of Carried [-]
}

// feeds returns the number of openings fed at once.
func (p Piece) feeds() float64 {
	if p.Feeds == 0 {
		return 1
	}
	return p.Feeds
}

// A Series is measured pieces in the order the air meets them.
type Series struct {
	Pieces     []Piece
	Common     float64 // standard uncertainty that all areas share, as of one bench and plate, relative [-]
	Assembled  float64 // effective area of all the pieces flowed together [m²]; 0: no such reading
	UAssembled float64 // its standard uncertainty, own part, relative [-]
	Pressure   float64 // upstream total pressure, absolute [Pa]; 0: the small-drop form is used whatever the drop
	Drop       float64 // test pressure over the whole [Pa]
	Gamma      float64 // ratio of specific heats [-]; needed with Pressure
}

// A Whole is what pieces in series do together.
type Whole struct {
	Area         float64     // effective area of the whole at the η of each joint, or at the solved one [m²]
	U            float64     // its standard uncertainty, relative [-]
	Lower        float64     // nothing carried on at any joint, η = 0 [m²]
	Upper        float64     // all carried on at every joint, η = 1 [m²]
	SmallDrop    float64     // Area by the small-drop form, for comparison [m²]
	Compressible bool        // Area, Lower and Upper are of the compressible form
	Solved       *SolvedEta  // η from the assembled reading; nil without one
	Shares       []Share     // one for each piece, in order
	HoldsBack    string      // name of the piece with the largest share of the drop
	NextBest     string      // name of the piece of which one per cent more gives the whole the most
	Curves       []GainCurve // what the whole gains as one piece alone gets better
	Warnings     []string
}

// A Share is the part one piece has in the drop of the whole.
type Share struct {
	Piece string
	Drop  float64 // share of the drop of total pressure from its own entry to the next piece's, joint included [-]; all add to 1
	Gain  float64 // gain of the whole for one per cent more effective area of this piece, its exit section kept [%]
}

// A SolvedEta is the share of exit head carried on, the same at every joint, that makes the pieces give the assembled reading.
type SolvedEta struct {
	Eta         float64 // η [-]; outside 0 to 1 when pieces and assembly contradict the simple picture
	U           float64 // its standard uncertainty from the stated uncertainties [-]
	Gain        float64 // change of η for a relative change of 1 of the assembled area [-]
	Meaningless bool    // readings good to ±1 % standard uncertainty leave η undetermined between 0 and 1
	Note        string
}

// Solve puts the pieces in series.
//
//	1/AT² = Σ 1/Ae² − Σ η·(1/Ax² − K/As²)
//
// where Ax is the exit section of the piece upstream of a joint, and K the loss of a mismatched joint on the smaller section As
// (Borda–Carnot into a wider section, a sharp contraction into a narrower one); a joint never takes more than the head that
// arrives. Below a pressure ratio of CompressibleBelow, in the whole or in any piece, the pieces are instead marched through
// as nozzles, each from the total pressure it is left with. Entry losses are those of the pieces as tested.
//
// It returns ErrNoPieces, ErrNoArea or ErrPressure, wrapped. Source: loss-coefficient summation, as in
// Miller, Internal Flow Systems (1990); the marching form is a definition from the nozzle function.
func (s Series) Solve() (Whole, error) {
	if err := s.check(); err != nil {
		return Whole{}, err
	}
	var w Whole
	w.Warnings = s.doubts()
	s.Pieces = append([]Piece(nil), s.Pieces...)
	w.Compressible = s.needsCompressible()
	if !w.Compressible {
		s.Pressure = 0
	}
	w.Lower = s.with(0).area()
	w.Upper = s.widest().area()
	if s.Assembled > 0 {
		if solved, ok := s.solveEta(); ok {
			w.Solved = &solved
			s = s.with(solved.Eta)
		} else {
			w.Warnings = append(w.Warnings, "the assembled reading is not used: no joint has a known exit section, so there is no carried head to solve for")
			s.Assembled = 0
		}
	}
	w.Area = s.area()
	small := s
	small.Pressure = 0
	w.SmallDrop = small.area()
	w.U = s.uncertainty()
	if w.Solved != nil && w.Solved.Eta > 1 {
		// More head than there is: pieces would seem to push. What they lose is counted with all of it carried on.
		w.Warnings = append(w.Warnings, "shares and gains are those with all of the exit head carried on, since more than that cannot be: they do not explain the assembled reading")
		s = s.with(1)
	}
	at := s.area()
	s.shares(&w, at)
	w.Curves = s.curves(at)
	return w, nil
}

func (s Series) check() error {
	if len(s.Pieces) == 0 {
		return fmt.Errorf("%w: name at least one measured piece", ErrNoPieces)
	}
	for i, p := range s.Pieces {
		switch {
		case !positive(p.Area):
			return fmt.Errorf("%w: piece %d (%s) has effective area %g m²", ErrNoArea, i+1, p.Name, p.Area)
		case p.Exit != 0 && !positive(p.Exit), p.Entry != 0 && !positive(p.Entry):
			return fmt.Errorf("%w: piece %d (%s) has entry %g m² and exit %g m²: leave out what is not known", ErrNoArea, i+1, p.Name, p.Entry, p.Exit)
		case p.Feeds != 0 && !positive(p.Feeds):
			return fmt.Errorf("%w: piece %d (%s) feeds %g openings", ErrNoArea, i+1, p.Name, p.Feeds)
		case math.IsNaN(p.Carried) || p.Carried < 0 || p.Carried > 1:
			return fmt.Errorf("%w: piece %d (%s) carries on %g of its head: write a share from 0 to 1", ErrNoArea, i+1, p.Name, p.Carried)
		}
	}
	if s.Assembled != 0 && !positive(s.Assembled) {
		return fmt.Errorf("%w: the assembled reading has effective area %g m²", ErrNoArea, s.Assembled)
	}
	if s.Pressure == 0 {
		return nil
	}
	if !(s.Gamma > 1) || !positive(s.Pressure) || !(s.Drop > 0 && s.Drop < s.Pressure) {
		return fmt.Errorf("%w: drop %g Pa from %g Pa absolute with γ = %g", ErrPressure, s.Drop, s.Pressure, s.Gamma)
	}
	return nil
}

func positive(x float64) bool { return x > 0 && !math.IsInf(x, 1) }

// doubts returns what the reader must be told of the pieces as given.
func (s Series) doubts() []string {
	var out []string
	for i, p := range s.Pieces {
		last := i == len(s.Pieces)-1
		if p.Exit == 0 && !last {
			out = append(out, fmt.Sprintf("exit section of %s is not known: no head is carried on there, and the upper bound takes its whole loss as head", p.Name))
		}
		if p.Exit > 0 && p.Exit < p.Area {
			out = append(out, fmt.Sprintf("%s has an effective area %.1f %% above its exit section, which no passage can have: check the section; its exit head is held to its whole loss", p.Name, 100*(p.Area/p.Exit-1)))
		}
	}
	return out
}

// with returns the series with one η at every joint.
func (s Series) with(eta float64) Series {
	s.Pieces = append([]Piece(nil), s.Pieces...)
	for i := range s.Pieces {
		s.Pieces[i].Carried = eta
	}
	return s
}

// widest returns the series in which all head that may be there is carried on.
func (s Series) widest() Series {
	s = s.with(1)
	for i := range s.Pieces[:len(s.Pieces)-1] {
		if p := &s.Pieces[i]; p.Exit == 0 {
			p.Exit = p.Area
			s.Pieces[i+1].Entry = 0
		}
	}
	return s
}

// jointLoss returns the loss of a step from section a to section b as a share of the velocity head in a [-].
func jointLoss(a, b float64) float64 {
	if a == 0 || b == 0 || a == b {
		return 0
	}
	if b > a {
		return SuddenExpansion(a, b).K
	}
	r := a / b
	return SuddenContraction(a, b).K * r * r
}

// area returns the effective area of one opening of the whole [m²].
func (s Series) area() float64 {
	if s.Pressure == 0 {
		return 1 / math.Sqrt(s.smallDrop())
	}
	return s.march()
}

// smallDrop returns 1/AT² [1/m⁴] of the small-drop form.
func (s Series) smallDrop() float64 {
	sum := 0.0
	for i := range s.Pieces {
		sum += s.smallShare(i)
	}
	return sum
}

// smallShare returns the part of piece i in 1/AT² [1/m⁴], what it carries on taken off.
func (s Series) smallShare(i int) float64 {
	p := s.Pieces[i]
	n := p.feeds()
	own := n * n / (p.Area * p.Area)
	if i == len(s.Pieces)-1 || p.Exit == 0 {
		return own
	}
	head := min(own, n*n/(p.Exit*p.Exit))
	return own - p.Carried*head*max(0, 1-jointLoss(p.Exit/n, s.Pieces[i+1].Entry/s.Pieces[i+1].feeds()))
}
