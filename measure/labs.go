package measure

import (
	"fmt"
	"math"
	"slices"
)

// AlgorithmA returns the robust mean x* and robust standard deviation s* of x [unit
// of x]. Values beyond 1.5 s* are pulled in to there, and mean and deviation taken
// anew, until nothing changes. More than half the values equal give s* = 0 and
// their common value.
//
//	start: x* = median, s* = 1.483·median|x_i − x*|
//	x_i* = min(max(x_i, x* − 1.5·s*), x* + 1.5·s*)
//	x* = Σx_i*/p,  s* = 1.134·sqrt(Σ(x_i* − x*)²/(p − 1))
//
// Source: ISO 13528:2015, annex C.3. Errors: ErrTooFew below two values,
// ErrNotFinite.
func AlgorithmA(x []float64) (mean, sd float64, err error) {
	if err := atLeast("results", len(x), 2); err != nil {
		return 0, 0, err
	}
	if err := finite("results", x); err != nil {
		return 0, 0, err
	}
	mean, sd = Median(x), MAD(x)
	pulled := make([]float64, len(x))
	for range 1000 {
		d := 1.5 * sd
		for i, v := range x {
			pulled[i] = min(max(v, mean-d), mean+d)
		}
		m := Mean(pulled)
		s := 1.134 * SD(pulled)
		done := math.Abs(m-mean) <= 1e-12*math.Abs(m) && math.Abs(s-sd) <= 1e-9*s
		mean, sd = m, s
		if done {
			break
		}
	}
	return mean, sd, nil
}

// A LabResult is what one shop found for a travelling piece.
type LabResult struct {
	Lab   string
	Value float64 // the result [unit of x]
	U     float64 // its standard uncertainty [unit of x], 0 when none was stated
}

// A LabScore is how one shop's result stands.
type LabScore struct {
	Lab      string  `json:"lab"`
	Value    float64 `json:"value"`     // the result [unit of x]
	Against  float64 `json:"against"`   // the value it is held against [unit of x]
	UAgainst float64 `json:"u_against"` // standard uncertainty of that [unit of x]
	Z        float64 `json:"z"`         // deviation over the robust standard deviation of all [-]
	Zeta     float64 `json:"zeta"`      // deviation over the standard uncertainties of both [-]; 0 when none was stated
	En       float64 `json:"en"`        // deviation over the expanded uncertainties of both [-]; 0 when none was stated
	Word     string  `json:"word"`
}

// The words of a score.
const (
	LabAgrees   = "agrees"                // |En| ≤ 1
	LabDiffers  = "differs"               // |En| > 1: the result, or its stated uncertainty, is wrong
	LabUnstated = "no uncertainty stated" // neither can be said
)

// A BetweenLabs is the comparison of several shops.
type BetweenLabs struct {
	Consensus  float64    `json:"consensus"`   // robust mean of all, or the reference given [unit of x]
	UConsensus float64    `json:"u_consensus"` // its standard uncertainty [unit of x]
	SD         float64    `json:"robust_sd"`   // robust standard deviation of all [unit of x]
	Scores     []LabScore `json:"scores"`
	Warnings   []Warning  `json:"warnings,omitempty"`
}

// labsWanted is how many results the consensus by Algorithm A wants.
// Source: ISO 13528:2015, 7.7.1 and 5.4, which call small numbers unreliable; twelve is
// common practice, no source.
const labsWanted = 12

// CompareLabs scores each result. Without a reference, each is held against the
// robust mean of the others, so that no result is compared with itself; the
// standard's En asks for that independence. With one, all are held against it.
//
//	u(x*) = 1.25·s*/√p, or sqrt(Σu²)/p where s* is 0
//	ζ = (x − X)/sqrt(u² + u_X²),  En = (x − X)/sqrt((2u)² + (2u_X)²)
//	z = (x − X)/s*
//
// Source: ISO 13528:2015, 7.7.3 (u of the consensus), 9.4 (z), 9.6 (ζ), 9.7 (En, here
// with k = 2 for both). Errors: ErrTooFew below three results without a reference,
// ErrNotPositive for a negative uncertainty, ErrNotFinite.
func CompareLabs(results []LabResult, reference *LabResult) (BetweenLabs, error) {
	var b BetweenLabs
	least := 3
	if reference != nil {
		least = 1
	}
	if err := atLeast("results", len(results), least); err != nil {
		return b, err
	}
	x := make([]float64, len(results))
	for i, r := range results {
		if r.U < 0 || math.IsNaN(r.U) {
			return b, fmt.Errorf("standard uncertainty of %q is %v: %w", r.Lab, r.U, ErrNotPositive)
		}
		x[i] = r.Value
	}
	if err := finite("results", x); err != nil {
		return b, err
	}
	if len(x) > 1 {
		var err error
		if b.Consensus, b.SD, err = AlgorithmA(x); err != nil {
			return b, err
		}
		b.UConsensus = consensusU(b.SD, results)
		if b.SD == 0 && reference == nil {
			b.Warnings = append(b.Warnings, Warning{
				Limit: "results that differ: their scatter says nothing of the consensus, whose uncertainty is what the results state of themselves; robust standard deviation", Got: 0,
			})
		}
	}
	if reference != nil {
		if err := finite("reference", []float64{reference.Value, reference.U}); err != nil {
			return b, err
		}
		b.Consensus, b.UConsensus = reference.Value, reference.U
	} else if len(x) < labsWanted {
		b.Warnings = append(b.Warnings, Warning{
			Limit: "common practice: at least 12 results for a robust consensus (ISO 13528:2015 5.4 warns of few)", Got: float64(len(x)),
		})
	}
	for i, r := range results {
		against, u := b.Consensus, b.UConsensus
		if reference == nil {
			m, s, err := AlgorithmA(slices.Delete(slices.Clone(x), i, i+1))
			if err != nil {
				return b, err
			}
			against, u = m, consensusU(s, slices.Delete(slices.Clone(results), i, i+1))
		}
		b.Scores = append(b.Scores, score(r, against, u, b.SD))
	}
	return b, nil
}

// consensusU returns the standard uncertainty of the robust mean of results with robust standard deviation sd [unit of x]:
// 1.25·sd/√p. Where more than half the results are equal sd is 0 and says nothing; that of the mean by the uncertainties the
// results state stands in then, sqrt(Σu²)/p, or 0 where they state none.
func consensusU(sd float64, results []LabResult) float64 {
	p := float64(len(results))
	if sd > 0 {
		return 1.25 * sd / math.Sqrt(p)
	}
	sum := 0.0
	for _, r := range results {
		sum += r.U * r.U
	}
	return math.Sqrt(sum) / p
}

func score(r LabResult, against, u, sd float64) LabScore {
	s := LabScore{Lab: r.Lab, Value: r.Value, Against: against, UAgainst: u, Word: LabUnstated}
	d := r.Value - against
	if sd > 0 {
		s.Z = d / sd
	}
	if r.U > 0 {
		s.Zeta = d / math.Hypot(r.U, u)
		s.En = d / math.Hypot(2*r.U, 2*u)
		s.Word = LabAgrees
		if math.Abs(s.En) > 1 {
			s.Word = LabDiffers
		}
	}
	return s
}
