package cli

import (
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
)

func budgetCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "budget JOBDIR",
		Short: "The uncertainty budget of a reading (JCGM 100), and a Monte Carlo check of it (JCGM 101)",
		Example: "  runnel budget my-job --reading r01\n" +
			"  runnel budget my-job --reading r01 --monte-carlo 2e5 --seed 1",
		Args: cobra.ExactArgs(1),
	}
	id := cmd.Flags().String("reading", "", "id of the reading")
	draws := cmd.Flags().String("monte-carlo", "0", "number of draws, 2e5 is usual")
	seed := cmd.Flags().Uint64("seed", 1, "seed of the draws: the same seed gives the same answer")
	require(cmd, "reading")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		n, err := parseCount(*draws)
		if err != nil {
			return &usageError{fmt.Errorf("--monte-carlo: %w", err)}
		}
		j, err := app.LoadFolder(args[0])
		if err != nil {
			return err
		}
		bar := sh.progress("drawing")
		a, err := app.BudgetOf(cmd.Context(), j, *id, app.Drawing{Draws: n, Seed: *seed}, func(done, total int) { bar("drawing", done, total) })
		bar("", 0, 0)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showBudget(a)
	}
	return cmd
}

func (sh *shell) showBudget(a app.BudgetAnswer) error {
	p := newPrinter(sh)
	r, flow, area := a.Reading, sh.system.Flow(), sh.system.Area()
	p.f("reading %s: %s, opening %s%s, %s\n", r.ID, r.Round, r.Opening, liftSuffix(sh, r.Lift), r.Rig)
	p.f("effective area %s, flow %s at the reference, ± %.2f %% (95 %%, k = %.2f%s)\n\n", area.Show(r.EffectiveArea), flow.Show(r.Flow), 100*r.UExpandedRel, r.CoverageK, dofText(r.Dof))
	wide := len("combined standard uncertainty")
	for _, l := range r.Budget {
		wide = max(wide, utf8.RuneCountInString(l.Quantity))
	}
	p.f("%-*s %12s %10s %-5s %-4s %-12s %5s %9s %7s\n", wide, "input", "estimate", "u", "unit", "type", "shape", "dof", "u on area", "share")
	for _, l := range slices.Backward(slices.SortedFunc(slices.Values(r.Budget), func(x, y assess.BudgetLine) int {
		switch {
		case x.Share < y.Share:
			return -1
		case x.Share > y.Share:
			return 1
		}
		return 0
	})) {
		dof := "∞"
		if l.Dof > 0 {
			dof = fmt.Sprintf("%.3g", l.Dof)
		}
		p.f("%-*s %12.6g %10.3g %-5s %-4s %-12s %5s %7.3f %% %5.1f %% %s\n", wide, l.Quantity, l.Estimate, l.U, l.Unit, l.Kind, l.Distribution, dof,
			100*l.U*l.Sensitivity, 100*l.Share, strings.Repeat("█", min(30, max(0, int(30*l.Share+0.5)))))
	}
	p.f("%-*s %55s %7.3f %%\n", wide, "combined standard uncertainty", "", 100*r.URel)
	if m := a.MonteCarlo; m != nil {
		p.drawn(a, *m)
	}
	p.notes(r.Warnings)
	return p.err
}

func dofText(dof float64) string {
	if dof <= 0 {
		return ""
	}
	if dof > 1000 {
		return ", more than 1000 degrees of freedom"
	}
	return fmt.Sprintf(", %.3g degrees of freedom", dof)
}

// drawn prints a Monte Carlo run beside the first-order interval.
func (p *printer) drawn(a app.BudgetAnswer, m app.DrawnAnswer) {
	area := p.sh.system.Area()
	p.f("\nMonte Carlo, %d draws, seed %d (JCGM 101)\n", m.Draws, m.Seed)
	p.f("  first order  %s to %s, u %.3f %%\n", area.Show(a.Lo), area.Show(a.Hi), 100*a.Reading.URel)
	p.f("  drawn        %s to %s, u %.3f %%\n", area.Show(m.Lo), area.Show(m.Hi), 100*m.URel)
	if m.Agrees {
		p.f("  they agree: the first-order budget may be used\n")
	} else {
		p.f("  they disagree: %s\n", m.Note)
	}
	p.notes(m.Warnings)
}
