package cli

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

func calibrateCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "calibrate FILE",
		Short: "The curve that turns what the bench reads into what known plates say, and whether it still holds",
		Long: `The curve that turns what a bench reads into what known plates say: weighted regression of known over read flow, a factor or a
polynomial by the evidence (AICc, the table is shown), residuals, covariance of the coefficients, and, where the file has flows of
the check plate since, its control chart and whether a new calibration is due.

FILE is CSV with the unit at the end of each column; a row of kind "check" is a later flow of the check plate,

  plate,known_cfm,read_cfm,u_known_percent,u_read_percent
  1 in,40.9,40.6,0.4,0.2
  2 in,163.5,162.1,0.4,0.2

or TOML with a list [[points]] of plate, known, read, u_known and u_read, a list [[check]] of at and flow, at (the day of the
calibration), recalibrate_every = "365 d" and u_common = "0.3 %" (what all plates share, as of one certificate). Uncertainties are
standard ones; state them for all points or for none.

With --card NAME it writes nothing but the curve as a bench card carries it, with its covariance and range: put it into bench.toml
and name it in its meter as calibration = "NAME". The readings by that meter are then corrected by it.`,
		Example: `  runnel calibrate plates.toml --plot residuals.svg --today 2026-05-02
  runnel calibrate plates.toml --card spring >> bench.toml`,
		Args: cobra.ExactArgs(1),
	}
	common := quantityFlag(cmd, "u-common", unit.Ratio, "", "standard uncertainty that all plates share (default: as the file says)")
	plotTo := cmd.Flags().String("plot", "", "write the picture of the residuals to this SVG file")
	card := cmd.Flags().String("card", "", "write the curve as a bench card carries it, under this name, and nothing else")
	day := cmd.Flags().String("today", "", "day to say for whether a new calibration is due, as 2026-05-02 (default: the last day in the file)")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		var today time.Time
		if *day != "" {
			var err error
			if today, err = time.Parse(time.DateOnly, *day); err != nil {
				return &usageError{fmt.Errorf("--today %q is no day: write it like 2026-05-02", *day)}
			}
		}
		data, err := readFile(args[0])
		if err != nil {
			return err
		}
		c, err := job.ReadCalibration(args[0], data)
		if err != nil {
			return err
		}
		if common.set {
			c.UCommon = *common.si
		}
		a, err := app.Calibrate(c, today)
		if err != nil {
			return err
		}
		if *plotTo != "" {
			if err := os.WriteFile(*plotTo, []byte(app.ResidualPicture(a, sh.system).SVG()), 0o644); err != nil {
				return fault.As(fault.Invalid, err)
			}
		}
		switch {
		case cmd.Flags().Changed("card") && sh.json:
			return &usageError{errors.New("--card writes a part of a bench.toml: leave --json out; with --json alone the curve is in coefficients_si and covariance_si")}
		case cmd.Flags().Changed("card"):
			text, err := a.Card(c, *card)
			if err != nil {
				return err
			}
			_, err = sh.env.Stdout.Write(append([]byte("\n"), text...))
			return err
		case sh.json:
			return sh.printJSON(a)
		}
		return sh.showCalibration(a)
	}
	return cmd
}

func (sh *shell) showCalibration(a app.CalibrationAnswer) error {
	p := newPrinter(sh)
	flow := sh.system.Flow()
	if a.Title != "" {
		p.f("%s\n", a.Title)
	}
	p.f("%-24s %6s %10s %14s %12s\n", "model", "terms", "AICc", "leave-one-out", "scatter")
	for _, c := range a.Candidates {
		mark := ""
		if c.Chosen {
			mark = "  ← chosen"
		}
		p.f("%-24s %6d %10.2f %14.3f %12.3f%s\n", c.Model, c.Terms, c.AICc, c.Press, c.S, mark)
	}
	p.f("chosen by the %s; leave-one-out and scatter count in units of the uncertainty of a point\n\n", a.Criterion)
	p.f("coefficients of read⁰, read¹ …, flows in m³/s\n")
	for i, b := range a.Coefficients {
		p.f("  c%d = %.8g ± %.2g (one sigma)\n", i, b, a.U[i])
	}
	p.f("covariance\n")
	for _, row := range a.Covariance {
		var cells []string
		for _, v := range row {
			cells = append(cells, fmt.Sprintf("%12.4g", v))
		}
		p.f("  %s\n", strings.Join(cells, " "))
	}
	p.f("\n%-14s %12s %12s %12s %10s %10s %10s\n", "plate", "known", "read", "curve", "residual", "u point", "u curve")
	for _, r := range a.Points {
		p.f("%-14s %12s %12s %12s %+8.2f %% %8.2f %% %8.2f %%\n", r.Plate, flow.Show(r.Known), flow.Show(r.Read), flow.Show(r.Fitted), 100*r.Residual, 100*r.UPoint, 100*r.UCurve)
	}
	p.f("\nas one factor: known = %.5f × read ± %.2f %% (one sigma); --card NAME writes the curve for a bench card\n", a.Factor, 100*a.UFactor)
	if a.Check != nil {
		p.chart(*a.Check)
	}
	if a.Due {
		p.f("\nA NEW CALIBRATION IS DUE: %s\n", strings.Join(a.DueWhy, "; "))
	} else {
		p.f("\nno new calibration is due by what the file says\n")
	}
	p.notes(a.Warnings)
	return p.err
}

// chart prints a control chart of flows.
func (p *printer) chart(c app.CheckChart) {
	flow := p.sh.system.Flow()
	p.f("\ncheck plate: centre %s, limits %s to %s\n", flow.Show(c.Centre), flow.Show(c.Lo), flow.Show(c.Hi))
	for _, k := range c.Points {
		at := ""
		if !k.At.IsZero() {
			at = k.At.Format(time.DateOnly)
		}
		p.f("  %-12s %-10s %12s  moving average %12s  %s\n", k.Label, at, flow.Show(k.Value), flow.Show(k.Average), strings.Join(k.Signals, "; "))
	}
	p.notes(c.Warnings)
}
