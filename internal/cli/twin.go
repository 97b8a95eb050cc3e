package cli

import (
	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
)

type twinOut struct {
	Bench    string           `json:"bench"`
	Bridged  []string         `json:"bridged"`
	Closures []assess.Closure `json:"closures"`
	Assumed  []string         `json:"assumed"`
	Warnings []string         `json:"warnings"`
}

func twinCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "twin JOBDIR",
		Short: "Each measured piece flowed on a simulated bench, against its reading",
		Long: `The one-dimensional model of each measured piece is flowed on a simulated bench, in the code that runs the engine, and its loss
is set until it reads as the piece did. The ratio is simulated over the corrected reading: 1 within 0.002 when the twin is found. Readings of
several sittings are put right to the bench as it stood in one, by the check plate, as for a verdict.`,
		Example: "  runnel twin my-job --json",
		Args:    cobra.ExactArgs(1),
	}
	state := cmd.Flags().String("state", "", "before or after the work only (default both)")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if _, err := stateIndex(*state); err != nil {
			return err
		}
		j, err := app.LoadFolder(args[0])
		if err != nil {
			return err
		}
		bar := sh.progress("twins")
		tied, err := assess.Twins(cmd.Context(), j, bar)
		bar("", 0, 0)
		if err != nil {
			return engineFault(err)
		}
		out := twinOut{Bridged: []string{}, Closures: []assess.Closure{}, Assumed: []string{}, Warnings: []string{}}
		for _, t := range tied {
			if *state == "" || t.State == *state {
				out.Closures = append(out.Closures, t.Closures...)
				out.Warnings = append(out.Warnings, t.Warnings...)
				out.Assumed, out.Bench, out.Bridged = t.Assumed, t.Bench, t.Bridged
			}
		}
		if sh.json {
			return sh.printJSON(out)
		}
		area := sh.system.Area()
		p := newPrinter(sh)
		p.f("%-7s  %-20s  %14s  %14s  %14s  %s\n", "state", "opening", "as read", "corrected", "simulated", "simulated over corrected")
		for _, c := range out.Closures {
			p.f("%-7s  %-20s  %14s  %14s  %14s  %.4f\n", c.State, p.told(c.Opening), area.Show(c.Read), area.Show(c.Measured), area.Show(c.Simulated), c.Ratio)
		}
		if len(out.Closures) == 0 {
			p.f("No piece of the engine was flowed: name the manifold in runner_piece, the head in flow_from of the engine card.\n")
		}
		if words := assess.BenchWords(out.Bench, out.Bridged); words != "" {
			p.f("%s\n", p.told(words))
		}
		if p.err != nil {
			return p.err
		}
		return sh.notes(nil, out.Warnings)
	}
	return cmd
}
