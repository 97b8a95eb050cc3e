package bench

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/measure"
)

// A Stability says how the bench stood in one sitting, by its check plate.
//
// The bench's own fixed error and that of the plate's stated area are the same in every sitting with that plate, so that both
// drop out of the ratio of its flows in two sittings; what is left is the drift of the bench between them. Readings of two
// sittings are put right by that ratio, as JCGM 100:2008, 3.2.4 wants it of a known systematic effect (6.3.1 advises against
// a wider interval instead):
//
//	Ae(a) in the bench of b = Ae(a)·(1 + δ_b)/(1 + δ_a)
//
// with δ the mean of the n flows of the plate as read over known, less one. What stays in doubt in each sitting is
//
//	u² = Σu_i²/n² + ((δ_max − δ_min)/2)²/3
//
// with u_i what each flow has of its own (settling, reading by eye, setting up anew), and half of the change within the sitting as
// a rectangular bound (JCGM 100:2008, 4.3.7). Where the plate was not flowed, or too roughly to say, a drift of up to the limit of
// the bench card is allowed for instead: u = limit/√3.
//
// A reading by itself is not put right: whether the bench or the plate is off is not known. Anything between none and all of δ
// may be the bench's, and the mean square of that about the reading is δ²/3 (rectangular, 4.3.7; added as F.2.4.5 adds a bias that is
// not taken off).
type Stability struct {
	Seen      bool    // the check plate tells of the drift
	Meters    string  // the meters it was flowed by, which must be the same in two sittings that are compared
	Deviation float64 // δ; 0 when not seen [-]
	U         float64 // u of the sitting, relative [-]
	Bound     float64 // the drift that is allowed for when it is not seen [-]
}

// benchPrefix begins the key of what is in doubt of the bench in one sitting: it cancels within that sitting and nowhere else.
const benchPrefix = "bench/"

// offPrefix begins the key of a check plate's deviation that a reading is not put right by. It is a matter of the reading by itself:
// between sittings the deviation is taken off.
const offPrefix = "off/"

// stability is how the bench stood in the sitting, for readings by a meter: by the flows of the check plate that were read from the
// same channel.
func (s *Sitting) stability(g *gauge) Stability {
	var n, mean, own float64
	lo, hi := math.Inf(1), math.Inf(-1)
	var meters []string
	for _, c := range s.Checks {
		if math.IsNaN(c.Deviation) || c.role != "" && c.role != g.role() {
			continue
		}
		n, mean, own = n+1, mean+c.Deviation, own+c.U*c.U
		lo, hi = min(lo, c.Deviation), max(hi, c.Deviation)
		if !slices.Contains(meters, c.meter) {
			meters = append(meters, c.meter)
		}
	}
	out := Stability{Bound: s.plateLimit()}
	if n > 0 {
		slices.Sort(meters)
		mean, own = mean/n, math.Sqrt(own)/n
		out.Meters, out.Bound = strings.Join(meters, ", "), max(out.Bound, math.Abs(mean), (hi-lo)/2)
		if out.Seen = own < s.plateLimit()/math.Sqrt(3); out.Seen {
			out.Deviation, out.U = mean, math.Hypot(own, (hi-lo)/2/math.Sqrt(3))
			return out
		}
	}
	out.U = out.Bound / math.Sqrt(3)
	return out
}

// stabilityKnobs are what is in doubt of the bench in this sitting.
func (s *Sitting) stabilityKnobs(st Stability) []knob {
	stable := factor("stability of the bench in "+s.card.ID, benchPrefix+s.card.ID, measure.TypeB, st.U, 0)
	if !st.Seen {
		stable.line.Distribution = measure.Rectangular
		return []knob{stable}
	}
	off := factor("deviation of the check plate, not taken off", offPrefix+s.card.ID, measure.TypeB, math.Abs(st.Deviation)/math.Sqrt(3), 0)
	off.line.Distribution = measure.Rectangular
	return []knob{stable, off}
}

// benchBridge carries reading a over to the bench as it stood when b was taken.
func benchBridge(a, b *Reading) *Bridge {
	if a.Sitting == b.Sitting {
		return nil
	}
	x, y := a.Bench, b.Bench
	br := Bridge{Name: "bench in " + a.Sitting, Factor: 1, Held: math.Hypot(x.U, y.U)}
	if x.Seen && y.Seen && x.Meters == y.Meters {
		br.Text = fmt.Sprintf("the check plate read %+.2f %% in %s and %+.2f %% in %s", 100*x.Deviation, a.Sitting, 100*y.Deviation, b.Sitting)
		br.Factor = (1 + y.Deviation) / (1 + x.Deviation)
		return &br
	}
	why := "no check plate ties " + a.Sitting + " to " + b.Sitting
	switch {
	case x.Seen && y.Seen:
		why = fmt.Sprintf("the check plate was flowed by %s in %s and by %s in %s, which does not tie them", x.Meters, a.Sitting, y.Meters, b.Sitting)
	case x.Meters != "" && !x.Seen || y.Meters != "" && !y.Seen:
		why = "the check plate was read too roughly to tie " + a.Sitting + " to " + b.Sitting
	}
	br.Text = fmt.Sprintf("%s; a drift of the bench of up to %.3g %% is allowed for in each", why, 100*max(x.Bound, y.Bound))
	for _, side := range []Stability{x, y} {
		if side.Seen { // its own line is of what the plate showed, which does not help here
			br.URel = math.Hypot(br.URel, side.Bound/math.Sqrt(3))
		}
	}
	return &br
}

// InBenchOf returns the reading as it would have been with the bench as it stood when another was taken, as verdicts take the drift between
// sittings off, and the bridge that carried it; nil in the same sitting. Of the figures only EffectiveArea and its Budget are carried.
func (r *Reading) InBenchOf(to *Reading) (Reading, *Bridge) {
	out := *r
	br := benchBridge(r, to)
	if br != nil {
		out.Budget = apply(withoutOff(r.Budget), []Bridge{*br})
		out.EffectiveArea, out.Sitting, out.Bench = r.EffectiveArea*br.Factor, to.Sitting, to.Bench
	}
	return out, br
}

// sittings counts the sittings that readings are of.
func sittings(readings []Reading) int {
	met := map[string]bool{}
	for i := range readings {
		met[readings[i].Sitting] = true
	}
	return len(met)
}

// withoutOff returns a budget without the deviation of the check plate, for comparisons that take it off.
func withoutOff(b measure.Budget) measure.Budget {
	b.Lines = slices.Clone(b.Lines)
	for i := range b.Lines {
		if strings.HasPrefix(b.Lines[i].Key, offPrefix) {
			b.Lines[i].U = 0
		}
	}
	return b
}
