package cli

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"runnel/gas"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

// meterCommands lists the kinds of meter beside the orifice in a pipe.
func meterCommands(sh *shell) []*cobra.Command {
	return []*cobra.Command{
		nozzleCommand(sh, "nozzle-isa1932", "ISA 1932 nozzle in a pipe, ISO 5167-3", meter.ISA1932),
		nozzleCommand(sh, "nozzle-long-radius", "Long-radius nozzle in a pipe, ISO 5167-3", meter.LongRadius),
		nozzleCommand(sh, "nozzle-venturi", "Venturi nozzle in a pipe, ISO 5167-3", meter.VenturiNozzle),
		venturiCommand(sh, "venturi-machined", "Venturi tube with a machined convergent, ISO 5167-4", meter.Machined),
		venturiCommand(sh, "venturi-cast", "Venturi tube with an as-cast convergent, ISO 5167-4", meter.AsCast),
		venturiCommand(sh, "venturi-welded", "Venturi tube of rough-welded sheet, ISO 5167-4", meter.RoughWelded),
		criticalCommand(sh),
		chamberCommand(sh),
		laminarCommand(sh),
		percentCommand(sh),
		tableCommand(sh),
	}
}

// A throatFlags is the two diameters of a meter in a pipe and what it shows.
type throatFlags struct{ pipe, bore, uPipe, uBore, dp *quantity }

func addThroat(cmd *cobra.Command, what string) throatFlags {
	f := throatFlags{
		pipe:  quantityFlag(cmd, "pipe", unit.Length, "", "inside diameter of the pipe"),
		bore:  quantityFlag(cmd, "bore", unit.Length, "", "diameter of the "+what),
		uPipe: quantityFlag(cmd, "u-pipe", unit.Ratio, "0 %", "relative standard uncertainty of the pipe's diameter"),
		uBore: quantityFlag(cmd, "u-bore", unit.Ratio, "0 %", "relative standard uncertainty of the bore"),
		dp:    quantityFlag(cmd, "dp", unit.Pressure, "", "pressure difference over the meter"),
	}
	require(cmd, "pipe", "bore", "dp")
	return f
}

func (f throatFlags) throat() meter.Throat {
	return meter.Throat{Pipe: *f.pipe.si, Bore: *f.bore.si, UPipe: *f.uPipe.si, UBore: *f.uBore.si}
}

func require(cmd *cobra.Command, names ...string) {
	for _, n := range names {
		if err := cmd.MarkFlagRequired(n); err != nil {
			panic("cli: " + err.Error())
		}
	}
}

func nozzleCommand(sh *shell, use, short string, profile meter.Profile) *cobra.Command {
	cmd := &cobra.Command{
		Use: use, Short: short, Args: cobra.NoArgs,
		Example: fmt.Sprintf(`  runnel meter %s --pipe "100 mm" --bore "60 mm" --dp "2 kPa"`, use),
	}
	f, in := addThroat(cmd, "throat"), addAir(cmd)
	cmd.RunE = func(*cobra.Command, []string) error {
		return sh.showMeter(meter.Nozzle{Throat: f.throat(), Profile: profile}, in, *f.dp.si)
	}
	return cmd
}

func venturiCommand(sh *shell, use, short string, made meter.Make) *cobra.Command {
	cmd := &cobra.Command{
		Use: use, Short: short, Args: cobra.NoArgs,
		Example: fmt.Sprintf(`  runnel meter %s --pipe "100 mm" --bore "60 mm" --dp "2 kPa"`, use),
	}
	f, in := addThroat(cmd, "throat"), addAir(cmd)
	cmd.RunE = func(*cobra.Command, []string) error {
		return sh.showMeter(meter.Venturi{Throat: f.throat(), Make: made}, in, *f.dp.si)
	}
	return cmd
}

func criticalCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use: "nozzle-critical", Short: "Critical-flow nozzle, ISO 9300", Args: cobra.NoArgs,
		Long:    "Critical-flow nozzle, ISO 9300. Its mass flow depends on the air before it alone, as long as the pressure difference chokes it.",
		Example: `  runnel meter nozzle-critical --bore "5 mm" --dp "60 kPa"`,
	}
	bore := quantityFlag(cmd, "bore", unit.Length, "", "throat diameter")
	pipe := quantityFlag(cmd, "pipe", unit.Length, "", "inside diameter of the pipe before it (left out: it draws from still air)")
	dp := quantityFlag(cmd, "dp", unit.Pressure, "", "pressure difference over the nozzle")
	uBore := quantityFlag(cmd, "u-bore", unit.Ratio, "0 %", "relative standard uncertainty of the bore")
	profile := cmd.Flags().String("profile", "toroidal", "shape: toroidal, toroidal-precise or cylindrical")
	in := addAir(cmd)
	require(cmd, "bore", "dp")
	cmd.RunE = func(*cobra.Command, []string) error {
		shape, ok := map[string]meter.CriticalProfile{
			"toroidal": meter.Toroidal, "toroidal-precise": meter.ToroidalPrecise, "cylindrical": meter.Cylindrical,
		}[*profile]
		if !ok {
			return &usageError{fmt.Errorf("--profile %q is not known: write toroidal, toroidal-precise or cylindrical", *profile)}
		}
		return sh.showMeter(meter.Critical{Bore: *bore.si, Pipe: *pipe.si, Profile: shape, UBore: *uBore.si}, in, *dp.si)
	}
	return cmd
}

func chamberCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use: "orifice-chamber", Short: "Sharp-edged orifice between two chambers, outside ISO 5167", Args: cobra.NoArgs,
		Example: `  runnel meter orifice-chamber --bore "2 in" --dp "28 inH2O"`,
	}
	bore := quantityFlag(cmd, "bore", unit.Length, "", "bore of the plate")
	dp := quantityFlag(cmd, "dp", unit.Pressure, "", "pressure difference over the plate")
	c := quantityFlag(cmd, "coefficient", unit.Ratio, fmt.Sprint(meter.ChamberC), "discharge coefficient")
	uC := quantityFlag(cmd, "u-coefficient", unit.Ratio, fmt.Sprint(meter.ChamberUC), "its relative standard uncertainty")
	uBore := quantityFlag(cmd, "u-bore", unit.Ratio, "0 %", "relative standard uncertainty of the bore")
	law := cmd.Flags().String("expansion", "iso", "law of expansion that the coefficient goes with: iso or isentropic")
	in := addAir(cmd)
	require(cmd, "bore", "dp")
	cmd.RunE = func(*cobra.Command, []string) error {
		m := meter.Chamber{Bore: *bore.si, Coefficient: *c.si, UC: *uC.si, UBore: *uBore.si}
		switch *law {
		case "iso":
			m.Expansion = meter.ExpansionISO
		case "isentropic":
			m.Expansion = meter.ExpansionIsentropic
		default:
			return &usageError{fmt.Errorf("--expansion %q is not known: write iso or isentropic", *law)}
		}
		return sh.showMeter(m, in, *dp.si)
	}
	return cmd
}

func laminarCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use: "laminar", Short: "Laminar flow element with one calibration point in dry air of 101 325 Pa and 20 °C", Args: cobra.NoArgs,
		Example: `  runnel meter laminar --cal-flow "100 cfm" --cal-dp "8 inH2O" --dp "4 inH2O"`,
	}
	flow := quantityFlag(cmd, "cal-flow", unit.VolumeFlow, "", "volume flow of the calibration")
	calDP := quantityFlag(cmd, "cal-dp", unit.Pressure, "", "pressure difference of the calibration")
	u := quantityFlag(cmd, "u-cal", unit.Ratio, "1 %", "relative standard uncertainty of the calibration")
	dp := quantityFlag(cmd, "dp", unit.Pressure, "", "pressure difference over the element")
	in := addAir(cmd)
	require(cmd, "cal-flow", "cal-dp", "dp")
	cmd.RunE = func(*cobra.Command, []string) error {
		room, err := calibrationRoom()
		if err != nil {
			return err
		}
		return sh.showMeter(meter.Laminar{VolumeFlow: *flow.si, Difference: *calDP.si, Upstream: meter.UpstreamOf(room), UCal: *u.si}, in, *dp.si)
	}
	return cmd
}

// calibrationRoom is the air that calibrations are stated in.
func calibrationRoom() (gas.Air, error) {
	return gas.MoistAir{Pressure: 101325, Temperature: 293.15, CO2: gas.StandardCO2}.Properties()
}

func percentCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use: "plate-percent", Short: "Calibrated plate read on a scale in per cent of its full flow", Args: cobra.NoArgs,
		Long: "Calibrated plate read on a scale in per cent of its full flow, calibrated in dry air of 101 325 Pa and 20 °C." +
			"\nThe air of the room stands before the plate.",
		Example: `  runnel meter plate-percent --full-scale "300 cfm" --reading "85 %"`,
	}
	full := quantityFlag(cmd, "full-scale", unit.VolumeFlow, "", "volume flow at 100 %")
	reading := quantityFlag(cmd, "reading", unit.Ratio, "", "what the scale shows")
	u := quantityFlag(cmd, "u-cal", unit.Ratio, "1 %", "relative standard uncertainty of the calibration")
	in := addAir(cmd)
	require(cmd, "full-scale", "reading")
	cmd.RunE = func(*cobra.Command, []string) error {
		room, err := calibrationRoom()
		if err != nil {
			return err
		}
		return sh.showMeter(meter.Percent{FullScale: *full.si, Density: room.Density, PlateDensity: room.Density, UCal: *u.si}, in, *reading.si)
	}
	return cmd
}

func tableCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use: "table FILE", Short: "Transfer curve of a mass-flow sensor: CSV with the columns reading and mass_flow", Args: cobra.ExactArgs(1),
		Long: "Transfer curve of a mass-flow sensor. The file is CSV: a column \"reading\" in the sensor's own unit and a column of mass flow" +
			"\nwith its unit, as in \"reading,mass_flow_kg_h\". Between the points the curve is monotone; beyond them there is no answer.",
		Example: `  runnel meter table sensor.csv --reading 3.2`,
	}
	reading := cmd.Flags().Float64("reading", 0, "what the sensor shows, in the unit of the file")
	u := quantityFlag(cmd, "u-cal", unit.Ratio, "1 %", "relative standard uncertainty of the curve")
	in := addAir(cmd)
	require(cmd, "reading")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		data, err := readFile(args[0])
		if err != nil {
			return err
		}
		points, err := job.ReadTransferCurve(args[0], data)
		if err != nil {
			return err
		}
		curve := make([]meter.Point, len(points))
		for i, p := range points {
			curve[i] = meter.Point{Reading: p.Reading, Mass: p.MassFlow}
		}
		m, err := meter.NewTable(curve, *u.si)
		if err != nil {
			return fault.Errorf(fault.Invalid, "%s: %w", args[0], err)
		}
		return sh.showMeter(m, in, *reading)
	}
	return cmd
}

// readFile reads a small input file.
func readFile(name string) ([]byte, error) {
	st, err := os.Stat(name)
	if err != nil {
		return nil, fault.As(fault.NotFound, err)
	}
	if st.IsDir() {
		return nil, fault.Errorf(fault.Invalid, "%s is a folder: name a file", name)
	}
	data, err := os.ReadFile(name)
	return data, fault.As(fault.Invalid, err)
}
