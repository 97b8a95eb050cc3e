package cli

import (
	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/tract"
	"runnel/unit"
)

func ledgerCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "ledger PASSAGE",
		Short: "Where the pressure is lost along a passage, held against the reading, and what is left to gain",
		Long: `The ledger of a passage: every loss from entry to exit with the published correlation it rests on and its spread, the effective
area that follows, and the headroom: how far that is from the best entry, a smooth wall and the sections the wall allows.

PASSAGE is a file of stations (CSV) or a mesh (STL). With --reading, an effective area or a flow at the test pressure, the table is
drawn up at that flow and what it does not explain is shown as such.`,
		Example: `  runnel ledger sections/runner-1.csv --dp "28 inH2O" --reading "142 cfm" --entry-radius "10 mm"
  runnel ledger mould.stl --unit mm --dp "28 inH2O" --surface worked --json`,
		Args: cobra.ExactArgs(1),
	}
	mesh := addMesh(cmd)
	air := addAir(cmd)
	dp := quantityFlag(cmd, "dp", unit.Pressure, "28 inH2O", "test pressure")
	radius := quantityFlag(cmd, "entry-radius", unit.Length, "0 mm", "radius of the edge at the entry; 0: bare")
	projecting := cmd.Flags().Bool("projecting", false, "the entry is a bare pipe that stands out into the room")
	thick := quantityFlag(cmd, "pipe-wall", unit.Length, "0 mm", "wall thickness of a projecting entry")
	surface := cmd.Flags().String("surface", "cast", "surface: cast, worked or smooth")
	reading := cmd.Flags().String("reading", "", `what was measured: effective area "610 mm²", or flow "142 cfm" or "300 kg/h" at the test pressure`)
	uReading := quantityFlag(cmd, "u-reading", unit.Ratio, "0 %", "its standard uncertainty")
	least := quantityFlag(cmd, "least-wall", unit.Length, "0 mm", "thinnest wall allowed")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		r, err := mesh.read(args[0])
		if err != nil {
			return err
		}
		c := app.LedgerCase{
			Passage: r.Passage, Air: air.moist(), Drop: *dp.si, Surface: *surface, UReading: *uReading.si, LeastWall: *least.si,
			Entry: tract.Entry{Radius: *radius.si, Projecting: *projecting, Wall: *thick.si},
		}
		if *reading != "" {
			if c.Reading, err = app.ReadingArea(*reading, c.Air, c.Drop); err != nil {
				return err
			}
		}
		a, err := app.Ledger(c)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showLedger(a)
	}
	return cmd
}

func (sh *shell) showLedger(a app.LedgerAnswer) error {
	p, area, dp, l := newPrinter(sh), sh.system.Area(), sh.system.TestPressure(), sh.system.Length()
	p.f("effective area, predicted  %s ± %.1f %% (one sigma, from the spread of the correlations)\n", area.Show(a.Area), 100*a.U)
	if a.Reading > 0 {
		p.f("effective area, measured   %s, %.1f %% of predicted (± %.1f %%)\n", area.Show(a.Reading), 100*a.Closure, 100*a.UClosure)
	}
	p.f("\n%-44s %18s %12s %7s   %s\n", "loss", "K (published)", "pressure", "share", "source")
	row := func(x app.LossAnswer) {
		k := ""
		if x.Kind != "unexplained" && x.Kind != "choking" {
			k = sh.kText(x)
		}
		p.f("%-44s %18s %12s %6.1f %%   %s\n", p.told(x.Name), k, dp.Show(x.Drop), 100*x.Share, x.Source)
	}
	for _, x := range a.Losses {
		row(x)
	}
	if a.Unexplained != nil {
		row(*a.Unexplained)
	}
	fast := a.Profile[0]
	for _, s := range a.Profile {
		if s.Velocity > fast.Velocity {
			fast = s
		}
	}
	p.f("\nfastest %s at %s, Mach %.2f\n", speedText(sh, fast.Velocity), l.Show(fast.At), fast.Mach)
	h := a.Headroom
	p.headroom(h, a.Reading > 0)
	for _, s := range h.Advice {
		p.f("  %s\n", p.told(s))
	}
	if h.Opened > 0 {
		p.f("caution: %s\n", cutWords)
	}
	p.notes(a.Warnings)
	return p.err
}

// headroom prints how far it is to each ceiling, the figures in one column.
func (p *printer) headroom(h app.HeadroomAnswer, read bool) {
	area := p.sh.system.Area()
	both := "both, same sections"
	if read { // without a reading nothing is unexplained
		both += ", if what is unexplained stays"
	}
	row := func(what string, gain float64, after string) { p.f("  %-51s %+6.1f %%%s\n", what, 100*gain, after) }
	p.f("\nHeadroom over %s\n", area.Show(h.Now))
	row("best entry", h.Entry, "")
	row("smooth wall", h.Wall, "")
	row(both, h.Both, "")
	if h.WallKnown {
		row("and opened to the least wall", h.Opened, "")
	}
	if read {
		row("the unexplained, found and mended", h.Found, "")
	}
	row("the physical ceiling, same sections", h.Ceiling, ", "+area.Show(h.Now*(1+h.Ceiling)))
}

// cutWords go wherever metal is advised to be taken off.
const cutWords = "measure the wall where you mean to cut, and again as you go, never below the least wall; pressure-test the piece afterwards; wear a mask and goggles, " +
	"keep sparks away from aluminium and magnesium dust, and keep dust out of the engine"

func (sh *shell) kText(x app.LossAnswer) string {
	return trimmed(x.K) + " (" + trimmed(x.Lo) + "–" + trimmed(x.Hi) + ")"
}

func speedText(sh *shell, v float64) string {
	if sh.system == unit.US {
		return unit.Velocity.Format(v, "ft/s", 0)
	}
	return unit.Velocity.Format(v, "m/s", 1)
}
