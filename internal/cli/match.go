package cli

import (
	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
)

func matchCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "match JOBDIR",
		Short:   "How evenly the openings of a piece flow in a round, and which is the odd one out",
		Example: "  runnel match my-job --round roughed",
		Args:    cobra.ExactArgs(1),
	}
	round := cmd.Flags().String("round", "", "round of the piece")
	rig := cmd.Flags().String("rig", "", "rig card (default: every one it was flowed with)")
	require(cmd, "round")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		j, err := app.LoadFolder(args[0])
		if err != nil {
			return err
		}
		ms, err := app.MatchOf(j, *round, *rig)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(struct {
				assess.Match
				Groups []assess.Match `json:"groups"`
			}{ms[0], ms[1:]})
		}
		p := newPrinter(sh)
		for i, m := range ms {
			if i > 0 {
				p.f("\n")
			}
			p.match(m)
		}
		return p.err
	}
	return cmd
}

// match prints one match with a mark for every opening on a common scale.
func (p *printer) match(m assess.Match) {
	flow := p.sh.system.Flow()
	p.f("%s %s, %s%s\n", m.Piece, m.Round, m.Rig, liftSuffix(p.sh, m.Lift))
	p.f("mean of all openings  %s (%s to %s, 95 %%)\n", flow.Show(m.Mean), flow.Show(m.MeanLo), flow.Show(m.MeanHi))
	p.f("spread                %.2f %%, largest less smallest", 100*m.SpreadRel)
	if words := m.TrueSpread(2); words != "" {
		p.f("; %s (95 %%)", words)
	}
	p.f("\nstandard deviations   %.2f %% between runners, %.2f %% of repeats\n\n", 100*m.RunnerSD, 100*m.RepeatSD)
	lo, hi := m.Runners[0].Lo95, m.Runners[0].Hi95
	for _, o := range m.Runners {
		lo, hi = min(lo, o.Lo95), max(hi, o.Hi95)
	}
	for _, o := range m.Runners {
		odd := "  " + o.Differs()
		if o.Odd {
			odd = "  odd one out," + odd[1:]
		}
		p.f("%8s  %12s  %+6.2f %%  |%s|  n %d%s\n", o.Opening, flow.Show(o.Flow), 100*o.Dev, whisker(o.Lo95, o.Flow, o.Hi95, lo, hi, 31), o.N, odd)
	}
	for _, o := range m.NotFlowed {
		p.f("%8s  not flowed\n", o)
	}
	if m.Note != "" {
		p.f("%s\n", p.told(m.Note))
	}
}

// trueSpread is where the spread truly lies, for behind the one that was read.
func trueSpread(m assess.Match) string {
	if words := m.TrueSpread(1); words != "" {
		return " (" + words + ")"
	}
	return ""
}

// whisker draws an interval with its middle on a scale from low to high as text of a width.
func whisker(from, at, to, low, high float64, width int) string {
	out := make([]rune, width)
	place := func(v float64) int {
		if !(high > low) {
			return width / 2
		}
		return min(width-1, max(0, int((v-low)/(high-low)*float64(width-1)+0.5)))
	}
	for i := range out {
		out[i] = ' '
	}
	for i := place(from); i <= place(to); i++ {
		out[i] = '─'
	}
	out[place(at)] = '●'
	return string(out)
}
