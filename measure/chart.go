package measure

import (
	"fmt"
	"math"
)

// A Rule is one by which a control chart calls a value out of control.
type Rule string

// The rules of the Shewhart chart, in standard deviations σ about the centre, and
// that of the moving average. The first four are those of Western Electric,
// Statistical Quality Control Handbook (1956), p. 25; the fifth is the third of
// Nelson, J. Qual. Technol. 16 (1984) 237.
const (
	RuleBeyond    Rule = "one value beyond 3σ"
	RuleTwoOf3    Rule = "two of three beyond 2σ on one side"
	RuleFourOf5   Rule = "four of five beyond 1σ on one side"
	RuleEightSide Rule = "eight in a row on one side"
	RuleSixTrend  Rule = "six in a row rising or falling"
	RuleAverage   Rule = "moving average beyond its limit"
)

// ChartOptions tells a control chart what is known of the process.
type ChartOptions struct {
	Baseline int     // number of first values that the centre and σ are found from; 0 means all
	Centre   float64 // known centre [unit of x]; used only when Sigma > 0
	Sigma    float64 // known standard deviation [unit of x]; 0 means to be found
	Lambda   float64 // weight of the newest value in the moving average [-]; 0 means 0.2
	Width    float64 // half-width of the moving average's limits in its standard deviations [-]; 0 means 3
}

// A ChartPoint is one value on a control chart.
type ChartPoint struct {
	Value     float64 `json:"value"`             // the value [unit of x]
	Average   float64 `json:"average"`           // moving average up to it [unit of x]
	AverageLo float64 `json:"average_lo"`        // lower limit of the average [unit of x]
	AverageHi float64 `json:"average_hi"`        // upper limit of the average [unit of x]
	Signals   []Rule  `json:"signals,omitempty"` // rules that it breaks
}

// A Chart is a Shewhart chart of individual values with a moving average on it.
type Chart struct {
	Centre   float64      `json:"centre"` // centre line [unit of x]
	Sigma    float64      `json:"sigma"`  // standard deviation of one value [unit of x]
	Lo       float64      `json:"lo"`     // lower limit, Centre − 3·Sigma [unit of x]
	Hi       float64      `json:"hi"`     // upper limit, Centre + 3·Sigma [unit of x]
	Points   []ChartPoint `json:"points"`
	Warnings []Warning    `json:"warnings,omitempty"`
}

// baselineWanted is how many values a baseline should have. Common practice, no
// source.
const baselineWanted = 20

// ControlChart charts values [unit of x] in the order of their time.
//
//	σ = mean|x_i − x_{i−1}|/d2,  d2 = 2/√π
//	z_i = λ·x_i + (1 − λ)z_{i−1},  z_0 = centre
//	limits of z_i: centre ± L·σ·sqrt(λ/(2 − λ)·(1 − (1 − λ)^{2i}))
//
// The moving range is used for σ because a slow drift widens it little. Sources:
// Shewhart, Economic Control of Quality of Manufactured Product (1931); Roberts,
// Technometrics 1 (1959) 239; Lucas and Saccucci, Technometrics 32 (1990) 1; and
// those of the rules. Errors: ErrTooFew for a baseline of one, ErrNoScatter,
// ErrNotFinite.
func ControlChart(values []float64, opt ChartOptions) (Chart, error) {
	var c Chart
	if opt.Lambda == 0 {
		opt.Lambda = 0.2
	}
	if opt.Width == 0 {
		opt.Width = 3
	}
	if err := atLeast("values on the chart", len(values), 1); err != nil {
		return c, err
	}
	if err := finite("values on the chart", values); err != nil {
		return c, err
	}
	if !(opt.Lambda > 0 && opt.Lambda <= 1) || !(opt.Width > 0) || opt.Sigma < 0 {
		return c, fmt.Errorf("chart with λ %v, width %v, σ %v: %w", opt.Lambda, opt.Width, opt.Sigma, ErrNotPositive)
	}
	if err := c.baseline(values, opt); err != nil {
		return c, err
	}
	c.Lo, c.Hi = c.Centre-3*c.Sigma, c.Centre+3*c.Sigma
	z := c.Centre
	for i, v := range values {
		z = opt.Lambda*v + (1-opt.Lambda)*z
		half := opt.Width * c.Sigma * math.Sqrt(opt.Lambda/(2-opt.Lambda)*(1-math.Pow(1-opt.Lambda, float64(2*(i+1)))))
		p := ChartPoint{Value: v, Average: z, AverageLo: c.Centre - half, AverageHi: c.Centre + half}
		p.Signals = c.signals(values[:i+1])
		if z < p.AverageLo || z > p.AverageHi {
			p.Signals = append(p.Signals, RuleAverage)
		}
		c.Points = append(c.Points, p)
	}
	return c, nil
}

// baseline finds the centre and σ, unless they are known.
func (c *Chart) baseline(values []float64, opt ChartOptions) error {
	if opt.Sigma > 0 {
		c.Centre, c.Sigma = opt.Centre, opt.Sigma
		return nil
	}
	base := values
	if opt.Baseline > 0 {
		base = values[:min(opt.Baseline, len(values))]
	}
	if err := atLeast("values in the baseline", len(base), 2); err != nil {
		return err
	}
	c.Centre = Mean(base)
	mr := 0.0
	for i := 1; i < len(base); i++ {
		mr += math.Abs(base[i] - base[i-1])
	}
	c.Sigma = mr / float64(len(base)-1) * math.Sqrt(math.Pi) / 2
	if c.Sigma == 0 {
		return fmt.Errorf("baseline of %d values: %w", len(base), ErrNoScatter)
	}
	if len(base) < baselineWanted {
		c.Warnings = append(c.Warnings, Warning{Limit: "common practice: at least 20 values in the baseline", Got: float64(len(base))})
	}
	return nil
}

// signals returns the Shewhart rules that the last of values breaks.
func (c Chart) signals(values []float64) []Rule {
	var out []Rule
	beyond := func(k float64, last, want int) bool {
		if len(values) < last {
			return false
		}
		up, down := 0, 0
		for _, v := range values[len(values)-last:] {
			switch d := (v - c.Centre) / c.Sigma; {
			case d > k:
				up++
			case d < -k:
				down++
			}
		}
		// The newest value must be one of them, so that a signal is not repeated
		// by values that are well.
		d := (values[len(values)-1] - c.Centre) / c.Sigma
		return up >= want && d > k || down >= want && d < -k
	}
	for _, r := range []struct {
		rule       Rule
		k          float64
		last, want int
	}{{RuleBeyond, 3, 1, 1}, {RuleTwoOf3, 2, 3, 2}, {RuleFourOf5, 1, 5, 4}, {RuleEightSide, 0, 8, 8}} {
		if beyond(r.k, r.last, r.want) {
			out = append(out, r.rule)
		}
	}
	if trend(values, 6) {
		out = append(out, RuleSixTrend)
	}
	return out
}

// trend says whether the last n values rise or fall all the way.
func trend(values []float64, n int) bool {
	if len(values) < n {
		return false
	}
	up, down := 0, 0
	for i := len(values) - n + 1; i < len(values); i++ {
		switch {
		case values[i] > values[i-1]:
			up++
		case values[i] < values[i-1]:
			down++
		}
	}
	return up == n-1 || down == n-1
}
