package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runnel/gas"
	"runnel/unit"
)

// quantity is a flag that is typed with its unit and held in SI.
type quantity struct {
	dim  unit.Dimension
	text string
	si   *float64
	set  bool
	like string // how it is written, in the unit that fits its size
}

func (q *quantity) String() string { return q.text }
func (q *quantity) Type() string   { return q.dim.Name }

func (q *quantity) Set(s string) error {
	v, err := q.dim.Parse(s)
	if errors.Is(err, unit.ErrNoUnit) {
		like := q.like
		if like == "" {
			like = strings.TrimSpace(s) + " " + customary(q.dim)
		}
		return fmt.Errorf("%q has no unit: write it with its unit, in quotes, like %q", s, like)
	}
	if err != nil {
		return err
	}
	*q.si, q.text, q.set = v, s, true
	return nil
}

// customary is the unit of a dimension that a porter writes most.
func customary(d unit.Dimension) string {
	switch d.Name {
	case unit.Length.Name:
		return "mm"
	case unit.Area.Name:
		return "mm²"
	case unit.Pressure.Name:
		return "inH2O"
	case unit.VolumeFlow.Name:
		return "cfm"
	}
	return d.SI().Name
}

// quantityFlag adds a flag of dimension dim. An empty default means that the flag has none.
func quantityFlag(cmd *cobra.Command, name string, dim unit.Dimension, def, help string) *quantity {
	q := &quantity{dim: dim, si: new(float64)}
	if def != "" {
		if err := q.Set(def); err != nil {
			panic("cli: default of --" + name + ": " + err.Error())
		}
		q.set, q.like = false, def
	}
	cmd.Flags().Var(q, name, help)
	return q
}

// air is the three flags that describe a room's air.
type airFlags struct {
	pressure, temp, rh *quantity
	co2                float64
}

func addAir(cmd *cobra.Command) *airFlags {
	a := &airFlags{
		pressure: quantityFlag(cmd, "pressure", unit.Pressure, "101325 Pa", "absolute air pressure"),
		temp:     quantityFlag(cmd, "temp", unit.Temperature, "20 C", "air temperature"),
		rh:       quantityFlag(cmd, "rh", unit.Ratio, "0 %", "relative humidity"),
	}
	cmd.Flags().Float64Var(&a.co2, "co2", gas.StandardCO2, "mole fraction of carbon dioxide")
	return a
}

func (a *airFlags) moist() gas.MoistAir {
	return gas.MoistAir{Pressure: *a.pressure.si, Temperature: *a.temp.si, Humidity: *a.rh.si, CO2: a.co2}
}

func words(ws []gas.Warning) []string {
	out := make([]string, len(ws))
	for i, w := range ws {
		out[i] = w.String()
	}
	return out
}
