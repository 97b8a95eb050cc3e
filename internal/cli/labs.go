package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/job"
	"runnel/measure"
)

func compareBenchesCommand(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:   "compare-benches FILE",
		Short: "How several shops agree on a travelling plate: En, zeta and z scores, robust consensus (ISO 13528)",
		Long: `How several shops agree on a travelling plate. Without a reference each is held against the robust mean of the others; a row
whose shop is "reference" is a value known better than by any of them, and all are held against it.

FILE is CSV, one result a row, the uncertainty as standard (u) or at 95 % (expanded), in the unit of the result or in per cent,

  shop,flow_cfm,u_percent
  North,151.2,0.5
  South,152.0,0.7

or TOML with unit = "cfm" and a list [[results]] of shop, value and u. |En| up to 1 means that shop and consensus agree within
what they claim to know.`,
		Example: "  runnel compare-benches round-robin.csv",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			data, err := readFile(args[0])
			if err != nil {
				return err
			}
			c, err := job.ReadLabComparison(args[0], data)
			if err != nil {
				return err
			}
			a, err := app.CompareBenches(c)
			if err != nil {
				return err
			}
			if sh.json {
				return sh.printJSON(a)
			}
			return sh.showLabs(a)
		},
	}
}

func (sh *shell) showLabs(a app.LabsAnswer) error {
	p := newPrinter(sh)
	unit := unitBehind(a.Unit)
	for _, s := range []string{a.Title, a.Piece} {
		if s != "" {
			p.f("%s\n", s)
		}
	}
	what := "robust consensus"
	if a.Reference {
		what = "reference"
	}
	p.f("%s %.6g%s ± %.2g (one sigma); robust deviation between shops %.3g%s\n\n", what, a.Consensus, unit, a.UConsensus, a.SD, unit)
	p.f("%-20s %12s %12s %8s %8s %8s  %s\n", "shop", "result", "against", "En", "zeta", "z", "")
	for _, s := range a.Scores {
		en, zeta := fmt.Sprintf("%.2f", s.En), fmt.Sprintf("%.2f", s.Zeta)
		if s.Word == measure.LabUnstated {
			en, zeta = "–", "–" // a 0 would be a score
		}
		p.f("%-20s %12.6g %12.6g %8s %8s %8.2f  %s\n", s.Lab, s.Value, s.Against, en, zeta, s.Z, s.Word)
	}
	p.notes(a.Notes)
	return p.err
}
