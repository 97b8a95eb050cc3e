package cli

import (
	"strconv"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/tract"
	"runnel/unit"
)

func throttleCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "throttle",
		Short: "Open area of a butterfly over its angle, what it loses at a flow, and which bore is enough",
		Long: `Open area of a butterfly throttle: plate and shaft seen along the bore, angles from the plane across it. With --flow, or --job for
the demand of its engine at the red line, also the pressure lost and the bore that keeps it within --max-loss. With --opening, the
effective area of one runner, also what the body does to a bench reading when 1, 2, 4 or 6 runners flow at the same time.`,
		Example: `  runnel throttle --bore "70 mm" --shaft "10 mm" --closed-angle 5 --angle 45
  runnel throttle --bore "65 mm" --shaft "10 mm" --job my-job`,
		Args: cobra.NoArgs,
	}
	bore := quantityFlag(cmd, "bore", unit.Length, "", "bore")
	bore.like = "70 mm"
	shaft := quantityFlag(cmd, "shaft", unit.Length, "0 mm", "shaft diameter")
	plate := quantityFlag(cmd, "plate", unit.Length, "0 mm", "plate thickness")
	closed := cmd.Flags().Float64("closed-angle", 0, "plate angle when closed, in degrees")
	angle := cmd.Flags().Float64("angle", 90, "plate angle, in degrees; 90 is wide open")
	flow := cmd.Flags().String("flow", "", `flow asked for, "0.2 kg/s" or "400 cfm" at the air given`)
	dir := cmd.Flags().String("job", "", "job folder whose engine asks for the air")
	ve := quantityFlag(cmd, "ve", unit.Ratio, "100 %", "volumetric efficiency for the demand of a job")
	most := quantityFlag(cmd, "max-loss", unit.Pressure, "1 kPa", "largest loss accepted")
	opening := quantityFlag(cmd, "opening", unit.Area, "0 mm²", "effective area of one runner it is put before on the bench")
	dp := quantityFlag(cmd, "dp", unit.Pressure, "28 inH2O", "test pressure of that")
	air := addAir(cmd)
	require(cmd, "bore")
	cmd.MarkFlagsMutuallyExclusive("flow", "job")
	cmd.RunE = func(*cobra.Command, []string) error {
		c := app.ThrottleCase{
			Body:  tract.Throttle{Bore: *bore.si, Shaft: *shaft.si, Plate: *plate.si, Closed: unit.Angle.Of(*closed, "°")},
			Angle: unit.Angle.Of(*angle, "°"), Air: air.moist(), MaxLoss: *most.si, Opening: *opening.si, Drop: *dp.si,
		}
		if err := askedFlow(&c, *flow, *dir, *ve.si); err != nil {
			return err
		}
		a, err := app.Throttle(c)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showThrottle(a)
	}
	return cmd
}

// askedFlow fills in the flow that was typed, or that the engine of a job asks for.
func askedFlow(c *app.ThrottleCase, typed, dir string, ve float64) error {
	if typed == "" && dir == "" {
		return nil
	}
	a, err := c.Air.Properties()
	if err != nil {
		return err
	}
	if dir != "" {
		j, err := app.LoadFolder(dir)
		if err != nil {
			return err
		}
		c.Flow, c.From, err = app.DemandOf(j, ve, a.Density)
		return err
	}
	if c.Flow, err = unit.MassFlow.Parse(typed); err == nil {
		c.From = "as typed"
		return nil
	}
	v, err := unit.VolumeFlow.Parse(typed)
	if err != nil {
		return badUse(`--flow %q: write a mass flow like "0.2 kg/s" or a volume flow like "400 cfm"`, typed)
	}
	c.Flow, c.From = v*a.Density, "as typed, at the air given"
	return nil
}

func (sh *shell) showThrottle(a app.ThrottleAnswer) error {
	p, dp, l := newPrinter(sh), sh.system.TestPressure(), sh.system.Length()
	p.f("open  %.2f %% of the bore, %s", 100*a.Fraction, sh.system.Area().Show(a.Area))
	if a.ShaftLimited {
		p.f(" (the plate hides behind the shaft: more angle opens no more)")
	}
	p.f("\n")
	if a.Flow > 0 {
		p.f("flow  %s, %s\n", sh.system.MassFlow().Show(a.Flow), p.told(a.FlowFrom))
		if a.Loss != nil {
			p.f("loss  %s at this angle, coefficient %.2f on the open area\n", dp.Show(*a.Loss), a.Coefficient)
		} else {
			p.f("loss  this flow cannot pass: the throttle is choked\n")
		}
	}
	if b := a.Advice; b != nil {
		p.f("\n%10s %12s %9s\n", "bore", "loss", "velocity")
		for _, x := range b.Bores {
			loss, speed := "choked", "–" // faster than sound it does not go
			if x.Loss != nil {
				loss, speed = dp.Show(*x.Loss), speedText(sh, x.Speed)
			}
			mark := ""
			if x.Bore == b.Smallest {
				mark = "  smallest within " + dp.Show(b.MaxLoss)
			}
			if x.Bore == b.Enough {
				mark += "  beyond this no size gains half a per cent"
			}
			p.f("%10s %12s %9s%s\n", l.Show(x.Bore), loss, speed, mark)
		}
	}
	for _, r := range a.OnReading {
		openings := "one opening"
		if r.AtOnce > 1 {
			openings = strconv.Itoa(r.AtOnce) + " openings flowed at once"
		}
		p.f("before %s: the reading is %.1f %% of that without, the body takes %.1f %% of the test pressure\n", openings, 100*r.Factor, 100*r.Share)
	}
	p.notes(a.Warnings)
	return p.err
}
