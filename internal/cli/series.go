package cli

import (
	"strconv"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/job"
)

// trimmed writes a loss coefficient.
func trimmed(x float64) string { return strconv.FormatFloat(x, 'f', 3, 64) }

func seriesCommand(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:   "series FILE",
		Short: "Measured pieces in series: what flows through all of them, and which holds it back",
		Long: `Pieces that were flowed alone, put in series in the order the air meets them. FILE is TOML:

  test_pressure = "28 inH2O"

  [[pieces]]
  name = "throttle body"
  flow = "500 cfm"            # or effective_area = "…"
  feeds = 6                   # openings it feeds at the same time, as on the engine; 1 on most benches
  exit_area = "3318 mm²"      # with carried_on: share of the exit head the next piece gets
  carried_on = "0 %"          # 0 % into a plenum, up to 100 % in a matched joint

  [[pieces]]
  name = "head"
  flow = "280 cfm"

  [assembled]                 # when all of them were flowed together
  flow = "262 cfm"

The two bounds, nothing and all of the exit head carried on, are always shown. small_drop = true uses the plain sum of squares.`,
		Example: "  runnel series tract.toml",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			data, err := readFile(args[0])
			if err != nil {
				return err
			}
			f, err := job.ReadSeries(args[0], data)
			if err != nil {
				return err
			}
			a, err := app.Series(f)
			if err != nil {
				return err
			}
			if sh.json {
				return sh.printJSON(a)
			}
			return sh.showSeries(a)
		},
	}
}

func (sh *shell) showSeries(a app.SeriesAnswer) error {
	p, area, flow := newPrinter(sh), sh.system.Area(), sh.system.Flow()
	if a.Title != "" {
		p.f("%s\n", a.Title)
	}
	p.f("effective area  %s ± %.2f %% (one sigma), %s at %s\n", area.Show(a.Area), 100*a.U, flow.Show(a.Flow), sh.system.TestPressure().Show(a.Drop))
	p.f("between         %s (nothing carried on) and %s (all of it)\n", area.Show(a.Lower), area.Show(a.Upper))
	p.f("holds back      %s; one per cent more gives most in: %s\n\n%-24s %12s %8s %18s %18s\n", a.HoldsBack, a.NextBest, "piece", "alone", "share", "1 % more gives", "if it lost nothing")
	for i, q := range a.Pieces {
		ceiling := ""
		if i < len(a.Curves) {
			ceiling = strconv.FormatFloat(100*a.Curves[i].Ceiling, 'f', 1, 64) + " %"
		}
		p.f("%-24s %12s %6.1f %% %16.2f %% %18s\n", q.Name, area.Show(q.Area), 100*q.Share, q.Gain, ceiling)
	}
	if s := a.Solved; s != nil {
		p.f("\nFrom the assembled reading: %.0f %% ± %.0f %% of the exit head is carried on; an error of 1 %% in it moves this by %.0f points.\n", 100*s.Eta, 100*s.U, s.Gain)
		if s.Note != "" {
			p.f("%s\n", p.told(s.Note))
		}
	}
	p.notes(a.Warnings)
	return p.err
}
