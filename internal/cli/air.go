package cli

import (
	"github.com/spf13/cobra"

	"runnel/unit"
)

type airOut struct {
	Density        float64  `json:"density_kg_m3"`      // [kg/m³]
	Compress       float64  `json:"compressibility"`    // [-]
	VapourPressure float64  `json:"vapour_pressure_pa"` // [Pa]
	SpeedOfSound   float64  `json:"speed_of_sound_m_s"` // [m/s]
	Viscosity      float64  `json:"viscosity_pa_s"`     // [Pa·s]
	Warnings       []string `json:"warnings"`
}

func airCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:     "air",
		Short:   "Density and other properties of the room's air",
		Example: `  runnel air --pressure "101325 Pa" --temp "20 C" --rh 50%`,
		Args:    cobra.NoArgs,
	}
	in := addAir(cmd)
	cmd.RunE = func(*cobra.Command, []string) error {
		a, err := in.moist().Properties()
		if err != nil {
			return err
		}
		out := airOut{
			Density: a.Density, Compress: a.Compressibility, VapourPressure: a.VapourPressure(),
			SpeedOfSound: a.SpeedOfSound, Viscosity: a.Viscosity, Warnings: words(a.Warnings),
		}
		if sh.json {
			return sh.printJSON(out)
		}
		vapour := unit.Style{Dimension: unit.Pressure, Unit: "Pa", Decimals: 1}
		if sh.system == unit.US {
			vapour.Unit, vapour.Decimals = "inHg", 4
		}
		if err := sh.printf("density          %s\ncompressibility  %.6f\nvapour pressure  %s\nspeed of sound   %s\nviscosity        %.3f µPa·s\n",
			sh.system.Density().Show(out.Density), out.Compress, vapour.Show(out.VapourPressure),
			sh.system.Velocity().Show(out.SpeedOfSound), out.Viscosity*1e6); err != nil {
			return err
		}
		return sh.warn(out.Warnings)
	}
	return cmd
}

// warn prints the warnings that belong to what was just printed.
func (sh *shell) warn(ws []string) error {
	for _, w := range ws {
		if err := sh.printf("note: limit not met: %s\n", sh.system.Text(w)); err != nil {
			return err
		}
	}
	return nil
}
