package cli

import (
	"fmt"
	"math"
	"os"

	"github.com/spf13/cobra"

	"runnel/internal/fault"
	"runnel/job"
	"runnel/measure"
	"runnel/unit"
)

type settleOut struct {
	Channel    string   `json:"channel"`       // column name; its end is the unit of the numbers
	Mean       float64  `json:"mean"`          // [unit of the column]
	U          float64  `json:"u"`             // standard uncertainty of the mean [unit of the column]
	NEff       float64  `json:"n_eff"`         // [-]
	Peak       float64  `json:"peak"`          // [unit of the column]
	WaverRel   float64  `json:"waver_rel"`     // [-]
	SteadyFrom float64  `json:"steady_from_s"` // [s]
	SteadyTo   float64  `json:"steady_to_s"`   // [s]
	Steady     bool     `json:"steady"`
	Spikes     int      `json:"spikes"`
	Faults     []string `json:"faults"`
	Warnings   []string `json:"warnings"`
}

func settleCommand(sh *shell) *cobra.Command {
	return &cobra.Command{
		Use:     "settle TRACE.csv",
		Short:   "The settled mean of every channel of a trace",
		Example: "  runnel settle traces/r01.csv",
		Args:    cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			f, err := os.Open(args[0])
			if err != nil {
				return fault.As(fault.NotFound, err)
			}
			defer func() { _ = f.Close() }()
			tr, err := job.ReadTrace(args[0], f)
			if err != nil {
				return err
			}
			out := struct {
				Channels []settleOut `json:"channels"`
			}{Channels: []settleOut{}}
			for _, c := range tr.Channels {
				s, err := settleChannel(tr.Time, c)
				if err != nil {
					return fault.Errorf(fault.Invalid, "%s: channel %s: %w", args[0], c.Name, err)
				}
				out.Channels = append(out.Channels, s)
			}
			if sh.json {
				return sh.printJSON(out)
			}
			return sh.showSettled(out.Channels)
		},
	}
}

func settleChannel(t []float64, c job.Channel) (settleOut, error) {
	x, suffix := inColumnUnit(c)
	s, err := measure.Settle(t, x, measure.SettleOptions{})
	if err != nil {
		return settleOut{}, err
	}
	out := settleOut{
		Channel: c.Name + "_" + suffix, Mean: s.Mean, U: s.U, NEff: s.NEff, Peak: s.Peak, WaverRel: s.WaverRel,
		SteadyFrom: s.From, SteadyTo: s.To, Steady: s.Steady, Spikes: s.Spikes, Faults: []string{}, Warnings: []string{},
	}
	for _, f := range measure.Gathered(s.Faults) {
		out.Faults = append(out.Faults, f.Words())
	}
	for _, w := range append(s.Warnings, measure.TraceLimits(t)...) {
		out.Warnings = append(out.Warnings, fmt.Sprintf("outside: %s (got %.4g)", w.Limit, w.Got))
	}
	return out, nil
}

// inColumnUnit returns the samples as the column held them.
func inColumnUnit(c job.Channel) ([]float64, string) {
	for _, d := range unit.All() {
		for _, u := range d.Units {
			if u.Name != c.Unit || d.Name == unit.TemperatureSpan.Name {
				continue
			}
			x := make([]float64, len(c.Values))
			for i, v := range c.Values {
				x[i] = u.FromSI(v)
			}
			return x, u.Suffix
		}
	}
	return c.Values, c.Unit
}

func (sh *shell) showSettled(channels []settleOut) error {
	for _, c := range channels {
		state := fmt.Sprintf("steady %.1f–%.1f s", c.SteadyFrom, c.SteadyTo)
		if !c.Steady {
			state = "NOT STEADY"
		}
		decimals := 6
		if c.U > 0 {
			decimals = max(0, min(8, 1-int(math.Floor(math.Log10(c.U)))))
		}
		if err := sh.printf("%-18s %.*f ± %.*f (one sigma), peak %.*f, waver %.2f %%, n_eff %.0f, %s\n",
			c.Channel, decimals, c.Mean, decimals, c.U, decimals, c.Peak, 100*c.WaverRel, c.NEff, state); err != nil {
			return err
		}
		for _, f := range append(c.Faults, c.Warnings...) {
			if err := sh.printf("  note: %s\n", f); err != nil {
				return err
			}
		}
	}
	return nil
}
