package cli

import (
	"github.com/spf13/cobra"

	"runnel/gas"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/passage"
	"runnel/unit"
)

func traverseCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "traverse FILE",
		Short: "Velocity map, mean and flow from pitot readings across a section, held against the meter",
		Long: `A pitot traverse. FILE is CSV, one probe reading a line, places from the centre of the section:

  x_mm,y_mm,dp_pa
  -18,0,310
  -9,0,355
  0,0,362

The section is round (--diameter), or --shape rectangle, ellipse or d with --width and --height. The air is that in the section:
static pressure and total temperature.`,
		Example: `  runnel traverse pitot.csv --diameter "52 mm" --meter "142 cfm"`,
		Args:    cobra.ExactArgs(1),
	}
	shape := cmd.Flags().String("shape", "round", "section: round, rectangle, ellipse or d")
	d := quantityFlag(cmd, "diameter", unit.Length, "0 mm", "diameter of a round section")
	w := quantityFlag(cmd, "width", unit.Length, "0 mm", "width of the section, along x")
	h := quantityFlag(cmd, "height", unit.Length, "0 mm", "height of the section, along y")
	corner := quantityFlag(cmd, "corner", unit.Length, "0 mm", "radius of its corners")
	coefficient := cmd.Flags().Float64("coefficient", 1, "coefficient of the probe, on the velocity")
	uCoefficient := quantityFlag(cmd, "u-coefficient", unit.Ratio, "0.5 %", "its standard uncertainty")
	uDP := quantityFlag(cmd, "u-dp", unit.Pressure, "1 Pa", "standard uncertainty of one pressure reading")
	uPlace := quantityFlag(cmd, "u-place", unit.Length, "0.5 mm", "standard uncertainty of a place, each way")
	meter := cmd.Flags().String("meter", "", `flow by the meter, "0.08 kg/s" or "142 cfm" at the air given`)
	uMeter := quantityFlag(cmd, "u-meter", unit.Ratio, "0 %", "its standard uncertainty")
	air := addAir(cmd)
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		s, err := sectionTyped(*shape, *d.si, *w.si, *h.si, *corner.si)
		if err != nil {
			return err
		}
		data, err := readFile(args[0])
		if err != nil {
			return err
		}
		c := app.TraverseCase{
			Section: s, Name: args[0], Data: data, Air: air.moist(), Coefficient: *coefficient, UCoefficient: *uCoefficient.si, UDP: *uDP.si, UPosition: *uPlace.si, UMeter: *uMeter.si,
		}
		if *meter != "" {
			if c.Meter, err = massTyped("--meter", *meter, c.Air); err != nil {
				return err
			}
		}
		a, err := app.Traverse(c)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showTraverse(a)
	}
	return cmd
}

// massTyped reads a mass flow, or a volume flow at the density of the air given [kg/s].
func massTyped(flag, typed string, m gas.MoistAir) (float64, error) {
	if v, err := unit.MassFlow.Parse(typed); err == nil {
		return v, nil
	}
	v, err := unit.VolumeFlow.Parse(typed)
	if err != nil {
		return 0, badUse(`%s %q: write a mass flow like "0.08 kg/s" or a volume flow like "142 cfm"`, flag, typed)
	}
	a, err := m.Properties()
	return v * a.Density, err
}

func sectionTyped(shape string, d, w, h, corner float64) (passage.Section, error) {
	var s passage.Section
	var err error
	switch shape {
	case "round":
		if d == 0 {
			return s, badUse(`--diameter is missing: write --diameter "52 mm", or --shape with --width and --height`)
		}
		s, err = passage.Round(d)
	case "rectangle":
		s, err = passage.Rectangle(w, h, corner)
	case "ellipse":
		s, err = passage.Ellipse(w, h)
	case "d":
		s, err = passage.DShape(w, h, corner)
	default:
		return s, badUse("--shape %q: write round, rectangle, ellipse or d", shape)
	}
	return s, fault.As(fault.Invalid, err)
}

func (sh *shell) showTraverse(a app.TraverseAnswer) error {
	p := newPrinter(sh)
	p.f("mean velocity    %s, highest %s\nflow             %s ± %.2f %% (one sigma), %s at the air given\n", speedText(sh, a.Mean), speedText(sh, a.Highest), sh.system.MassFlow().Show(a.Mass), 100*a.U, sh.system.Flow().Show(a.Flow))
	p.f("non-uniformity   %.1f %% (root mean square over the section)\nenergy factor    %.4f\n", 100*a.NonUniformity, a.Energy)
	if a.EqualWeight > 0 {
		p.f("plain mean       %s of the probes on log-Tchebycheff places\n", speedText(sh, a.EqualWeight))
	}
	if a.Closure > 0 {
		p.f("over the meter   %.1f %% ± %.1f %% (one sigma)\n", 100*a.Closure, 100*a.UClosure)
	}
	for _, q := range a.Parts {
		p.f("  %-32s %.2f %%\n", q.Name, 100*q.U)
	}
	p.notes(a.Warnings)
	return p.err
}
