package cli

import (
	"errors"
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/engine"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

type pullOut struct {
	Title    string         `json:"title"`
	Points   []assess.Point `json:"points"`
	Assumed  []string       `json:"assumed"`
	Warnings []string       `json:"warnings"`
}

func pullCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "pull ENGINE.toml",
		Short:   "Predicted torque and power over speed of a described engine",
		Example: "  runnel pull examples/gx160.toml --speeds 2000:4000:500",
		Args:    cobra.ExactArgs(1),
	}
	speeds := cmd.Flags().String("speeds", "", "speeds in rpm, first:last:step or a list (default: the card's, else up to its red line)")
	mesh := quantityFlag(cmd, "mesh", unit.Length, "15 mm", "cell length of the pipes")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		card, err := loadEngine(args[0])
		if err != nil {
			return err
		}
		if *speeds != "" {
			card.Speeds = *speeds
		}
		list, err := assess.Speeds(card)
		if err != nil {
			if *speeds != "" {
				return &usageError{fmt.Errorf("--speeds: %w", err)}
			}
			return fault.As(fault.Invalid, err)
		}
		e, err := engine.FromCard(card, engine.Flowed{})
		if err != nil {
			return fault.As(fault.Invalid, err)
		}
		bar := sh.progress("pull")
		points, err := engine.Pull(cmd.Context(), e, list, engine.Options{Mesh: *mesh.si}, func(done, total int) { bar("pull", done, total) })
		bar("", 0, 0)
		if err != nil {
			if errors.Is(err, engine.ErrSpeeds) || errors.Is(err, engine.ErrEngine) {
				return fault.As(fault.Invalid, err)
			}
			return err
		}
		out := pullOut{Title: card.Title, Points: assess.Points(points), Assumed: e.Assumed, Warnings: assess.PullWarnings(points)}
		if sh.json {
			return sh.printJSON(out)
		}
		return sh.showPull(out)
	}
	return cmd
}

func loadEngine(name string) (job.Engine, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return job.Engine{}, fault.As(fault.NotFound, err)
	}
	return job.LoadEngine(name, data)
}

func (sh *shell) showPull(out pullOut) error {
	tq, pw := sh.system.Torque(), sh.system.Power()
	if err := sh.printf("%s\n%8s  %14s  %10s  %6s  %9s  %9s  %9s\n", out.Title, "speed", "torque", "power", "VE", "IMEP", "FMEP", "air"); err != nil {
		return err
	}
	for _, p := range out.Points {
		note := ""
		if !p.Settled {
			note = "  did not settle"
		}
		if err := sh.printf("%5.0f rpm %14s  %10s  %6.3f  %5.2f bar  %5.2f bar  %6.2f g/s%s\n", p.Speed, tq.Show(p.Torque), pw.Show(p.Power*1e3), p.VE, p.IMEP, p.FMEP, p.AirFlow*1e3, note); err != nil {
			return err
		}
	}
	for _, a := range out.Assumed {
		if err := sh.printf("assumed: %s\n", a); err != nil {
			return err
		}
	}
	for _, w := range out.Warnings {
		if err := sh.printf("note: %s\n", w); err != nil {
			return err
		}
	}
	return sh.printf("A prediction compares; it promises no absolute power. Run an engine only with its mixture checked and within local law.\n")
}
