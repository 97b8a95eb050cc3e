package cli

import (
	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/job"
	"runnel/unit"
)

func leakageCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "leakage FILE",
		Short: "The law of a bench's leakage, Q = k·Δpⁿ, from a leakage test at several test pressures",
		Long: `The law of a bench's leakage, Q = k·Δpⁿ, from a leakage test: everything blanked, the flow that is left at several test pressures.

FILE is CSV with the unit at the end of each column,

  test_pressure_inh2o,flow_cfm
  10,0.82
  20,1.31
  28,1.64

or TOML with a list [[points]] of test_pressure = "10 inH2O" and flow = "0.82 cfm". A column u_flow (u_flow_cfm, u_flow_percent)
states the standard uncertainty of each flow for itself, as of its resolution; the points are then weighed by it, and a flow below
twice it, or of none, counts as an upper bound. In TOML u_meter = "1 %" is what all points share.`,
		Example: `  runnel leakage leak.csv --at "28 inH2O"`,
		Args:    cobra.ExactArgs(1),
	}
	at := quantityFlag(cmd, "at", unit.Pressure, "28 inH2O", "test pressure to state the leakage at")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		data, err := readFile(args[0])
		if err != nil {
			return err
		}
		test, err := job.ReadLeakageTest(args[0], data)
		if err != nil {
			return err
		}
		law, err := app.Leakage(test, *at.si)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(law)
		}
		return sh.showLeakage(law)
	}
	return cmd
}

func (sh *shell) showLeakage(l app.LeakageLaw) error {
	p := newPrinter(sh)
	flow, dp, area := sh.system.Flow(), sh.system.TestPressure(), sh.system.Area()
	flow.Decimals += 2 // a leakage is small
	if l.Title != "" {
		p.f("%s\n", l.Title)
	}
	switch {
	case l.Seen > 0:
		p.f("law                Q = k·Δpⁿ, k = %.4g m³/(s·Paⁿ), n = %.3f ± %.3f (one sigma)\n", l.K, l.N, l.UN)
		p.f("leakage            %s ± %s (one sigma) at %s\n", flow.Show(l.Flow), flow.Show(l.UFlow), dp.Show(l.At))
		p.f("effective area     %s\n", area.Show(l.Area))
		p.f("scatter            %.2f %% about the law\n\n", 100*l.Scatter)
	case l.Bound > 0:
		p.f("leakage            none that was seen; at most %s at %s\n\n", flow.Show(l.Bound), dp.Show(l.At))
	default:
		p.f("leakage            none that was seen; how much would have been is not stated (u_flow), so that there is no upper bound\n\n")
	}
	p.f("%16s %14s %14s %10s\n", "test pressure", "leakage", "law", "off by")
	for _, r := range l.Points {
		p.f("%16s %14s %14s %+8.2f %%\n", dp.Show(r.TestPressure), flow.Show(r.Flow), flow.Show(r.Law), 100*r.Deviation)
	}
	p.notes(l.Warnings)
	return p.err
}

// notes prints warnings, each on its line.
func (p *printer) notes(ws []string) {
	for _, w := range ws {
		p.f("note: %s\n", p.told(w))
	}
}
