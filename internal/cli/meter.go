package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runnel/internal/fault"
	"runnel/meter"
	"runnel/unit"
)

type meterOut struct {
	MassFlow      float64  `json:"mass_flow_kg_s"`        // [kg/s]
	Coefficient   float64  `json:"discharge_coefficient"` // [-]
	Expansibility float64  `json:"expansibility"`         // [-]
	Reynolds      float64  `json:"reynolds"`              // [-]
	URel          float64  `json:"u_rel"`                 // relative standard uncertainty of the meter itself [-]
	Warnings      []string `json:"warnings"`
}

func meterCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "meter KIND",
		Short: "Mass flow through a meter, with the uncertainty its standard gives",
		Args:  cobra.ArbitraryArgs,
	}
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(args) == 0 {
			return cmd.Help()
		}
		var kinds []string
		for _, c := range cmd.Commands() {
			kinds = append(kinds, c.Name())
		}
		return &usageError{fmt.Errorf("%q is no kind of meter: write one of %s", args[0], strings.Join(kinds, ", "))}
	}
	cmd.FParseErrWhitelist.UnknownFlags = true // so that a wrong kind is told as that, and not as a wrong flag
	cmd.AddCommand(orificeCommand(sh))
	cmd.AddCommand(meterCommands(sh)...)
	for _, c := range cmd.Commands() { // as a bench card writes them, too
		if card := strings.ReplaceAll(c.Name(), "-", "_"); card != c.Name() {
			c.Aliases = append(c.Aliases, card)
		}
	}
	return cmd
}

// taps are the tappings by the name they are typed with.
func taps(name string) (meter.Taps, error) {
	switch name {
	case "corner":
		return meter.Corner, nil
	case "flange":
		return meter.Flange, nil
	case "d-d2":
		return meter.DHalfD, nil
	}
	return 0, &usageError{fmt.Errorf("--taps %q is not known: write corner, flange or d-d2", name)}
}

func orificeCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "orifice",
		Aliases: []string{"orifice-pipe", "orifice_pipe"},
		Short:   "Square-edged orifice plate in a pipe, ISO 5167-2",
		Example: `  runnel meter orifice --pipe "100 mm" --bore "60 mm" --taps flange --dp "2 kPa"`,
		Args:    cobra.NoArgs,
	}
	pipe := quantityFlag(cmd, "pipe", unit.Length, "", "inside diameter of the pipe")
	bore := quantityFlag(cmd, "bore", unit.Length, "", "bore of the plate")
	uPipe := quantityFlag(cmd, "u-pipe", unit.Ratio, "0 %", "relative standard uncertainty of the pipe's diameter")
	uBore := quantityFlag(cmd, "u-bore", unit.Ratio, "0 %", "relative standard uncertainty of the bore")
	dp := quantityFlag(cmd, "dp", unit.Pressure, "", "pressure difference over the plate")
	tapsName := cmd.Flags().String("taps", "flange", "tappings: corner, flange or d-d2")
	in := addAir(cmd)
	for _, name := range []string{"pipe", "bore", "dp"} {
		_ = cmd.MarkFlagRequired(name)
	}
	cmd.RunE = func(*cobra.Command, []string) error {
		t, err := taps(*tapsName)
		if err != nil {
			return err
		}
		o := meter.Orifice{Throat: meter.Throat{Pipe: *pipe.si, Bore: *bore.si, UPipe: *uPipe.si, UBore: *uBore.si}, Taps: t}
		return sh.showMeter(o, in, *dp.si)
	}
	return cmd
}

// showMeter works out and prints one reading of a meter.
func (sh *shell) showMeter(m meter.Meter, in *airFlags, reading float64) error {
	a, err := in.moist().Properties()
	if err != nil {
		return err
	}
	f, err := m.Flow(meter.UpstreamOf(a), reading)
	if errors.Is(err, meter.ErrNotChoked) || errors.Is(err, meter.ErrOutsideTable) {
		return fault.As(fault.Invalid, err)
	}
	if err != nil {
		return err
	}
	out := meterOut{f.Mass, f.Coefficient, f.Expansibility, f.Reynolds, f.URel, append(words(f.Warnings), words(a.Warnings)...)}
	if sh.json {
		return sh.printJSON(out)
	}
	p := newPrinter(sh)
	p.f("mass flow              %s\nvolume flow            %s\n", sh.system.MassFlow().Show(out.MassFlow), sh.system.Flow().Show(f.Mass/a.Density))
	if m.Reads() == meter.Difference && f.Reynolds > 0 { // what a throat has; other meters have neither
		p.f("discharge coefficient  %.6f\nexpansibility          %.6f\nReynolds number        %.0f\n", out.Coefficient, out.Expansibility, out.Reynolds)
	}
	p.f("standard uncertainty   %.3f %%\n", 100*out.URel)
	if p.err != nil {
		return p.err
	}
	return sh.warn(out.Warnings)
}
