package cli

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"runnel/internal/capture"
	"runnel/internal/fault"
)

type checkOut struct {
	Sound    bool                  `json:"sound"`
	Channels []capture.ChannelSign `json:"channels"`
	Faults   []capture.Fault       `json:"faults"`
}

func benchCheckCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "check",
		Short: "Life signs of every sensor: rate, value, noise and what is wrong",
		Long: `Read the bench for a few seconds and show the life signs of every sensor. Exit code 4 says that something is wrong with
a device: unplugged, frozen, out of range, spikes, wrong rate and so on, each by its name.`,
		Example: "  runnel bench check --bench bench.toml",
		Args:    cobra.NoArgs,
	}
	flags := addBench(cmd, 4*time.Second, "how long to look")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		if flags.last == 0 {
			return &usageError{errors.New("--for 0s leaves no time to look")}
		}
		b, err := flags.start(cmd.Context(), nil, nil)
		if err != nil {
			return err
		}
		wait(cmd.Context(), flags.last)
		st := b.session.State()
		if err := b.session.Stop(); err != nil {
			return err
		}
		out := checkOut{Sound: len(st.Faults) == 0, Channels: st.Channels, Faults: st.Faults}
		if sh.json {
			err = sh.printJSON(out)
		} else {
			err = sh.showCheck(out)
		}
		if err != nil || out.Sound {
			return err
		}
		return fault.Errorf(fault.Device, "the bench is not sound: %s", strings.Join(kindsOf(out.Faults), ", "))
	}
	return cmd
}

func kindsOf(fs []capture.Fault) []string {
	out := make([]string, len(fs))
	for i, f := range fs {
		out[i] = string(f.Kind)
		if f.Channel != "" {
			out[i] = f.Channel + " " + out[i]
		}
	}
	return out
}

func (sh *shell) showCheck(out checkOut) error {
	p := newPrinter(sh)
	p.f("%-14s %-13s %12s %-6s %10s %9s %8s   %s\n", "channel", "role", "value", "", "noise", "rate", "age", "")
	for _, c := range out.Channels {
		state := "well"
		if len(c.Faults) > 0 {
			words := make([]string, len(c.Faults))
			for i, k := range c.Faults {
				words[i] = string(k)
			}
			state = strings.ToUpper(strings.Join(words, ", "))
		}
		value, noise, age := "–", "–", "–"
		if c.Raw != nil {
			value, age = fmt.Sprintf("%.5g", *c.Raw), fmt.Sprintf("%.1f s", c.Age)
		}
		if c.SD != nil {
			noise = fmt.Sprintf("%.2g", *c.SD)
		}
		p.f("%-14s %-13s %12s %-6s %10s %6.1f Hz %8s   %s\n", c.Channel, c.Role, value, c.Unit, noise, c.Rate, age, state)
	}
	for _, f := range out.Faults {
		p.f("%s: %s\n", faultName(f), f.Text)
	}
	return p.err
}

// faultName says what a fault is and of what.
func faultName(f capture.Fault) string {
	switch {
	case f.Channel != "":
		return f.Channel + " " + string(f.Kind)
	case f.Source != "":
		return f.Source + " " + string(f.Kind)
	}
	return string(f.Kind)
}
