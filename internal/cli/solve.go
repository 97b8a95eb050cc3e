package cli

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/job"
)

func solveCommand(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:     "solve JOBDIR",
		Short:   "The whole answer for a job folder: readings, verdicts, match, restriction, pull",
		Example: "  runnel solve my-job --units us",
		Args:    cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			j, err := app.LoadFolder(args[0])
			if err != nil {
				return err
			}
			a, err := sh.solve(cmd.Context(), j)
			if err != nil {
				return err
			}
			if sh.json {
				return sh.printJSON(a)
			}
			return sh.showAssessment(a)
		},
	}
}

// solve computes the whole assessment behind a progress bar.
func (sh *shell) solve(ctx context.Context, j job.Job) (assess.Assessment, error) {
	bar := sh.progress("solving")
	defer bar("", 0, 0)
	return app.SolveJob(ctx, j, bar)
}

func handoverCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "handover JOBDIR",
		Short:   "Write the handover of a job folder: PDF in A4 and Letter, one-file HTML, and the data",
		Example: "  runnel handover my-job --out paper",
		Args:    cobra.ExactArgs(1),
	}
	out := cmd.Flags().String("out", "", "folder to write into (made when missing)")
	_ = cmd.MarkFlagRequired("out")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		j, err := app.LoadFolder(args[0])
		if err != nil {
			return err
		}
		return sh.writeHandover(cmd.Context(), j, *out)
	}
	return cmd
}

func (sh *shell) writeHandover(ctx context.Context, j job.Job, dir string) error {
	a, err := sh.solve(ctx, j)
	if err != nil {
		return err
	}
	names, err := app.WriteHandovers(j, a, app.Print{System: sh.system}, dir)
	if err != nil {
		return err
	}
	if sh.json {
		return sh.printJSON(struct {
			Files []string `json:"files"`
		}{names})
	}
	for _, n := range names {
		if err := sh.printf("wrote %s\n", n); err != nil {
			return err
		}
	}
	return nil
}

// showAssessment prints an assessment for people.
func (sh *shell) showAssessment(a assess.Assessment) error {
	flow, dp := sh.system.Flow(), sh.system.TestPressure()
	invented := ""
	if a.Invented {
		invented = "   INVENTED DEMO JOB"
	}
	p := newPrinter(sh)
	p.f("%s%s\nflows at %s, %s, %s; ± is the expanded uncertainty at 95 %%\n", a.Title, invented, dp.Show(a.Reference.TestPressure), sh.system.Temperature().Show(a.Reference.Temperature), sh.system.Barometer().Show(a.Reference.Pressure))
	p.f("\nReadings\n%-8s %-14s %-16s %-9s %9s %14s %8s  %s\n", "id", "round", "rig", "opening", "lift", "flow", "±", "notes")
	var cited footnotes
	for _, r := range a.Readings {
		if !r.Usable {
			p.f("%-8s %-14s %-16s %-9s %9s %14s %8s  refused: %s\n", r.ID, r.Round, r.Rig, r.Opening, liftText(sh, r.Lift), "–", "–", p.told(r.Refused))
			continue
		}
		p.f("%-8s %-14s %-16s %-9s %9s %14s %6.2f %%  %s\n", r.ID, r.Round, r.Rig, r.Opening, liftText(sh, r.Lift), flow.Show(r.Flow), 100*r.UExpandedRel, p.cite(&cited, false, r.Warnings...))
	}
	for i, text := range cited.all {
		p.f("[%d] %s\n", i+1, p.told(text))
	}
	p.f("\nVerdicts\n")
	said := map[string]bool{}
	for _, v := range a.Verdicts {
		who := v.Who()
		if v.Refused != "" {
			p.f("%s → %s, %s, %s: not compared: %s\n", v.From, v.To, v.FromRig, who, p.told(v.Refused))
			continue
		}
		p.f("%s → %s, %s, %s: %+.2f %% (%+.2f to %+.2f %%), %s%s\n", v.From, v.To, v.FromRig, who, 100*(v.Ratio-1), 100*(v.Lo95-1), 100*(v.Hi95-1), v.Word, p.told(bridgedText(v, said))+p.markedText(v, &cited))
	}
	p.f("\nMatch\n")
	for _, m := range a.Match {
		var odd strings.Builder
		for _, o := range m.Runners {
			if o.Odd {
				fmt.Fprintf(&odd, ", odd one out: %s (%s)", o.Opening, o.Differs())
			}
		}
		if len(m.Marks) > 0 {
			odd.WriteString("; marked " + p.cite(&cited, true, m.Marks...))
		}
		p.f("%s %s, %s%s: mean %s, spread %.1f %%%s%s\n", m.Piece, m.Round, m.Rig, liftSuffix(sh, m.Lift), flow.Show(m.Mean), 100*m.SpreadRel, trueSpread(m), odd.String())
	}
	p.restriction(a)
	p.pull(a)
	p.notes(a.Warnings)
	return p.err
}
