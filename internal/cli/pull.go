package cli

import (
	"context"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"strconv"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/engine"
	"runnel/unit"
)

type pullOut struct {
	Title    string           `json:"title"`
	State    string           `json:"state,omitempty"`
	Points   []assess.Point   `json:"points"`
	Bench    string           `json:"bench"`
	Bridged  []string         `json:"bridged"`
	Closures []assess.Closure `json:"closures"`
	Dyno     *assess.DynoFit  `json:"dyno,omitempty"`
	Assumed  []string         `json:"assumed"`
	Warnings []string         `json:"warnings"`
}

func pullCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "pull ENGINE.toml|JOBDIR",
		Short: "Predicted torque and power over speed of a described engine",
		Example: `  runnel pull examples/gx160.toml --speeds 2000:4000:500
  runnel pull my-job --state before --json
  runnel pull my-job --trace 5500 --cylinder 4 > cycle.csv`,
		Args: cobra.ExactArgs(1),
	}
	flags := addEngineFlags(cmd)
	trace := cmd.Flags().String("trace", "", "print one cycle at this speed in rpm as CSV, instead of the pull")
	cylinder := cmd.Flags().Int("cylinder", 1, "the cylinder --trace follows")
	samples := cmd.Flags().Int("samples", 720, "rows of --trace over the two revolutions")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		at, err := traceSpeed(*trace)
		if err != nil {
			return err
		}
		switch {
		case at > 0 && sh.json:
			return &usageError{errors.New("--trace prints CSV: leave out --json")}
		case at > 0 && flags.speeds != "":
			return &usageError{errors.New("--trace runs one speed, its own: leave out --speeds")}
		case at == 0 && (cmd.Flags().Changed("cylinder") || cmd.Flags().Changed("samples")):
			return &usageError{errors.New("--cylinder and --samples are for --trace: write --trace SPEED beside them, like --trace 5500")}
		}
		t, speeds, err := sh.tied(cmd.Context(), args[0], flags)
		if err != nil {
			return err
		}
		if at > 0 {
			return sh.trace(cmd.Context(), t, at, *cylinder, *samples, *flags.mesh.si)
		}
		bar := sh.progress("pull")
		points, err := t.Pull(cmd.Context(), speeds, *flags.mesh.si, bar)
		bar("", 0, 0)
		if err != nil {
			return engineFault(err)
		}
		out := pullOut{Title: t.Card.Title, State: t.State, Points: points, Bench: t.Bench, Bridged: t.Bridged, Closures: t.Closures, Dyno: t.Dyno, Assumed: append([]string{}, t.Assumed...), Warnings: append([]string{}, t.Warnings...)}
		for _, p := range points {
			if !p.Settled {
				out.Warnings = append(out.Warnings, fmt.Sprintf("%.0f rpm did not settle: its figures are of the last cycle run", p.Speed))
			}
		}
		if sh.json {
			return sh.printJSON(out)
		}
		return sh.showPull(heading(t), out)
	}
	return cmd
}

// traceSpeed reads a speed typed in rpm, with or without its unit [rev/s]; nothing typed is 0.
func traceSpeed(text string) (float64, error) {
	if text == "" {
		return 0, nil
	}
	if v, err := strconv.ParseFloat(text, 64); err == nil && v > 0 && !math.IsInf(v, 0) {
		return v / 60, nil
	}
	v, err := unit.Rotation.Parse(text)
	if err == nil && v > 0 {
		return v, nil
	}
	return 0, &usageError{fmt.Errorf("--trace %q: write the speed in rpm, like --trace 5500", text)}
}

func (sh *shell) showPull(head string, out pullOut) error {
	tq, pw, mep := sh.system.Torque(), sh.system.Power(), sh.system.MeanPressure()
	p := newPrinter(sh)
	p.f("%s\n%9s  %12s  %19s  %10s  %6s  %9s  %9s  %12s\n", head, "speed", "torque", "95 % band", "power", "VE", "IMEP", "FMEP", "air")
	for _, q := range out.Points {
		note := ""
		if !q.Settled {
			note = "  did not settle"
		}
		p.f("%5.0f rpm  %12s  %19s  %10s  %6.3f  %9s  %9s  %12s%s\n", q.Speed, tq.Show(q.Torque),
			fmt.Sprintf("%.1f to %.1f", tq.Value(q.TorqueLo), tq.Value(q.TorqueHi)), pw.Show(q.Power*1e3), q.VE, mep.Show(q.IMEP*1e5), mep.Show(q.FMEP*1e5), sh.system.MassFlow().Show(q.AirFlow), note)
	}
	p.dyno(out.Dyno)
	if words := assess.BenchWords(out.Bench, out.Bridged); words != "" {
		p.f("%s\n", p.told(words))
	}
	if p.err != nil {
		return p.err
	}
	if err := sh.notes(out.Assumed, out.Warnings); err != nil {
		return err
	}
	return sh.printf("A prediction compares; it promises no absolute power: an error of the model that is not among the unknowns is not in the band. Run an engine only with its mixture checked and within local law.\n")
}

// trace prints one cycle of a cylinder as CSV.
func (sh *shell) trace(ctx context.Context, t assess.Tied, speed float64, cylinder, samples int, mesh float64) error {
	if n := t.Engine.Cylinders(); cylinder < 1 || cylinder > n {
		return &usageError{fmt.Errorf("--cylinder %d: the engine has cylinders 1 to %d", cylinder, n)}
	}
	if samples < 36 || samples > 7200 {
		return &usageError{fmt.Errorf("--samples %d: write 36 to 7200", samples)}
	}
	bar := sh.progress("cycle")
	bar("cycle", 0, 1)
	r, err := engine.Record(ctx, t.Engine, speed, cylinder, samples, engine.Options{Mesh: mesh})
	bar("", 0, 0)
	if err != nil {
		return engineFault(err)
	}
	return sh.writeTrace(r)
}

// A column of a trace: its name with the unit, and its values [in that unit].
type column struct {
	name  string
	value []float64
	scale float64
}

func traceColumns(r *engine.Recording) []column {
	cols := []column{
		{"crank_angle_deg", r.Angle, 180 / math.Pi},
		{"cylinder_pressure_pa", r.Pressure, 1},
		{"cylinder_temp_k", r.Temp, 1},
		{"cylinder_volume_m3", r.Volume, 1},
		{"burned_ratio", r.Burned, 1},
		{"intake_port_pressure_pa", r.Port, 1},
		{"intake_port_velocity_m_s", r.PortU, 1},
		{"intake_flow_kg_s", r.FlowIn, 1},
		{"intake_lift_m", r.LiftIn, 1},
	}
	if r.Exhaust != nil {
		cols = append(cols, column{"exhaust_port_pressure_pa", r.Exhaust, 1})
	}
	return append(cols, column{"exhaust_flow_kg_s", r.FlowOut, 1}, column{"exhaust_lift_m", r.LiftOut, 1})
}

func (sh *shell) writeTrace(r *engine.Recording) error {
	w := csv.NewWriter(sh.env.Stdout)
	cols := traceColumns(r)
	row := make([]string, len(cols))
	for i, c := range cols {
		row[i] = c.name
	}
	if err := w.Write(row); err != nil {
		return err
	}
	for k := range r.Angle {
		for i, c := range cols {
			row[i] = strconv.FormatFloat(c.value[k]*c.scale, 'g', 8, 64)
		}
		if err := w.Write(row); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}
