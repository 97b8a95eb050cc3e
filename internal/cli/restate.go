package cli

import (
	"strconv"

	"github.com/spf13/cobra"

	"runnel/bench"
	"runnel/unit"
)

type restateOut struct {
	Flow          float64  `json:"flow_m3_s"`          // at the new test pressure, exact [m³/s]
	FlowCFM       float64  `json:"flow_cfm"`           // the same [ft³/min]
	FlowSqrtRule  float64  `json:"flow_sqrt_rule_cfm"` // by the square-root rule [ft³/min]
	EffectiveArea float64  `json:"effective_area_m2"`  // [m²]
	From          at       `json:"from"`               // what the flow was stated at
	To            at       `json:"to"`                 // what it is stated at now
	Warnings      []string `json:"warnings"`
}

// at is what a flow is stated at.
type at struct {
	TestPressure float64 `json:"test_pressure_pa"` // pressure drop [Pa]
	Pressure     float64 `json:"pressure_pa"`      // absolute air pressure [Pa]
	Temperature  float64 `json:"temp_k"`           // air temperature [K]
	Humidity     float64 `json:"rh_ratio"`         // relative humidity [-]
	Density      float64 `json:"density_kg_m3"`    // of that air [kg/m³]
}

func atOf(r bench.Reference) at {
	return at{r.TestPressure, r.Air.Pressure, r.Air.Temperature, r.Air.Humidity, r.Air.Density}
}

// show writes it for people.
func (a at) show(sh *shell) string {
	return sh.system.TestPressure().Show(a.TestPressure) + " in air of " + sh.system.Barometer().Show(a.Pressure) + ", " +
		sh.system.Temperature().Show(a.Temperature) + ", " + strconv.FormatFloat(100*a.Humidity, 'f', 0, 64) + " % rh"
}

func restateCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "restate FLOW",
		Short:   "State a flow at another test pressure",
		Long:    "State a flow at another test pressure, exactly by the nozzle function and by the square-root rule the trade uses.\nThe air is the same on both sides unless told.",
		Example: `  runnel restate "300 cfm" --from "28 inH2O" --to "10 inH2O"`,
		Args:    cobra.ExactArgs(1),
	}
	from := quantityFlag(cmd, "from", unit.Pressure, "", "test pressure the flow was taken at")
	to := quantityFlag(cmd, "to", unit.Pressure, "28 inH2O", "test pressure to state it at")
	in := addAir(cmd)
	toP := quantityFlag(cmd, "to-pressure", unit.Pressure, "", "absolute air pressure to state it at (as --pressure when left out)")
	toT := quantityFlag(cmd, "to-temp", unit.Temperature, "", "air temperature to state it at (as --temp when left out)")
	toRH := quantityFlag(cmd, "to-rh", unit.Ratio, "", "relative humidity to state it at (as --rh when left out)")
	_ = cmd.MarkFlagRequired("from")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		flow, err := unit.VolumeFlow.Parse(args[0])
		if err != nil {
			return err
		}
		air := in.moist()
		target := air
		if toP.set {
			target.Pressure = *toP.si
		}
		if toT.set {
			target.Temperature = *toT.si
		}
		if toRH.set {
			target.Humidity = *toRH.si
		}
		was, err := bench.NewReference(*from.si, air)
		if err != nil {
			return err
		}
		will, err := bench.NewReference(*to.si, target)
		if err != nil {
			return err
		}
		r, err := bench.Restate(flow, was, will)
		if err != nil {
			return err
		}
		out := restateOut{
			Flow: r.Flow, FlowCFM: unit.VolumeFlow.In(r.Flow, "cfm"),
			FlowSqrtRule: unit.VolumeFlow.In(r.FlowSqrtRule, "cfm"), EffectiveArea: r.EffectiveArea,
			From: atOf(was), To: atOf(will), Warnings: words(r.Warnings),
		}
		if sh.json {
			return sh.printJSON(out)
		}
		f, a := sh.system.Flow(), sh.system.Area()
		if err := sh.printf("taken at                 %s\nstated at                %s\n%-23s  %s\nby the square-root rule  %s\neffective area           %s\n",
			out.From.show(sh), out.To.show(sh),
			"at "+sh.system.TestPressure().Show(*to.si), f.Show(r.Flow), f.Show(r.FlowSqrtRule), a.Show(r.EffectiveArea)); err != nil {
			return err
		}
		return sh.warn(out.Warnings)
	}
	return cmd
}
