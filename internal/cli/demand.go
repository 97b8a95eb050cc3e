package cli

import (
	"fmt"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/unit"
)

func demandCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "demand ENGINE.toml|JOBDIR",
		Short: "The air an engine asks for: flow in a runner, Mach numbers, throttle bore, tuned speeds",
		Example: `  runnel demand examples/v8_longrunner.toml
  runnel demand my-job --loss "0.8 kPa" --json`,
		Args: cobra.ExactArgs(1),
	}
	flags := addEngineFlags(cmd)
	loss := quantityFlag(cmd, "loss", unit.Pressure, "1 kPa", "pressure loss accepted in the throttle")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if *loss.si <= 0 {
			return &usageError{fmt.Errorf("--loss %q: a loss is above zero, like \"1 kPa\"", loss.text)}
		}
		t, speeds, err := sh.tied(cmd.Context(), args[0], flags)
		if err != nil {
			return err
		}
		bar := sh.progress("pull")
		out, err := assess.Ask(cmd.Context(), t, speeds, *flags.mesh.si, *loss.si, bar)
		bar("", 0, 0)
		if err != nil {
			return engineFault(err)
		}
		if sh.json {
			return sh.printJSON(out)
		}
		return sh.showDemand(heading(t), out)
	}
	return cmd
}

func (sh *shell) showDemand(head string, out assess.Demand) error {
	p := newPrinter(sh)
	length, dp, air := sh.system.Length(), sh.system.TestPressure(), sh.system.MassFlow()
	p.f("%s\n%9s  %6s  %12s  %12s  %12s  %6s  %s\n", head, "speed", "VE", "air", "runner mean", "runner peak", "Z", "Mach number at the peak; throttle loss")
	for _, q := range out.Speeds {
		p.f("%5.0f rpm  %6.3f  %12s  %12s  %12s  %6.3f ", q.Speed, q.VE, air.Show(q.Air), air.Show(q.Runner), air.Show(q.Draught), q.MachIndex)
		for _, s := range q.Sections {
			if s.Choked {
				p.f(" %s would choke", s.Name)
				continue
			}
			p.f(" %s %.2f", s.Name, s.Mach)
		}
		if q.Loss > 0 {
			p.f("; %s", dp.Show(q.Loss))
		}
		p.f("\n")
	}
	p.f("Z is the mean inlet Mach index: volumetric efficiency falls beyond 0.5 to 0.6. The runner's peak is quasi-steady, an upper bound.\n")
	p.f("At %.0f rpm the gas dynamics draw a peak of %s through the intake valves; the closed form, %s, is off it by %+.0f %%.\n", out.Peak.Speed, air.Show(out.Peak.Pull), air.Show(out.Peak.Guide), 100*out.Peak.Disagree)
	if b := out.Throttle; b != nil {
		p.f("\nThrottle at %.0f rpm, %s a body\n", b.At, air.Show(b.Air))
		for _, l := range b.Bores {
			mark := ""
			if l.Bore == b.Smallest {
				mark = "  smallest within " + dp.Show(b.Allowed)
			}
			if l.Bore == b.Enough {
				mark += "  beyond it a step of 5 mm gains less than 0.5 % of the air's pressure"
			}
			if l.Choked {
				p.f("%10s  chokes%s\n", length.Show(l.Bore), mark)
				continue
			}
			p.f("%10s  %s%s\n", length.Show(l.Bore), dp.Show(l.Loss), mark)
		}
		p.f("%s\n", p.told(b.Note))
	}
	p.tuned(out.Tuned)
	if p.err != nil {
		return p.err
	}
	return sh.notes(out.Assumed, out.Warnings)
}

// tuned prints what closed forms tune the runners to, and how far that is from the pull.
func (p *printer) tuned(guides []assess.TunedSpeed) {
	if len(guides) == 0 {
		return
	}
	end := ""
	if guides[0].AtEnd {
		end = ", the end of what was run: its best may lie beyond"
	}
	p.f("\nTuned speeds, and how far off the %.0f rpm at which the pull fills the cylinders best%s\n", guides[0].Pull, end)
	for _, g := range guides {
		p.f("%-38s %6.0f rpm  %+4.0f %%  %s\n", g.Guide, g.Speed, 100*g.Disagree, g.Source)
	}
}
