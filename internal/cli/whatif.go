package cli

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"runnel/assess"
)

func whatifCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "whatif JOBDIR|ENGINE.toml --set NAME=VALUE",
		Short: "What a change of runners, plenum, throttle, cam or compression would do to the pull",
		Long: `What a change that has not been made would do to torque and power: the old and the new curve, and the change with its band.

A value is absolute (runner.length=350mm), a change (runner.length=+20mm, cam.duration=-5deg) or a share (runner.section=+4%).
The names, for the engine at hand with their present values: runnel whatif ENGINE --list

` + settableText(),
		Example: `  runnel whatif my-job --set runner.length=350mm --set cam.duration=+5deg
  runnel whatif examples/v8_longrunner.toml --set plenum.volume=+50% --json`,
		Args: cobra.ExactArgs(1),
	}
	flags := addEngineFlags(cmd)
	sets := cmd.Flags().StringArray("set", nil, "a change, NAME=VALUE; may be given several times")
	list := cmd.Flags().Bool("list", false, "list what may be set, with the present values")
	cmd.RunE = func(cmd *cobra.Command, args []string) error {
		if len(*sets) == 0 && !*list {
			return &usageError{errors.New("nothing to change: write --set NAME=VALUE, like --set runner.length=+20mm; --list shows the names")}
		}
		t, speeds, err := sh.tied(cmd.Context(), args[0], flags)
		if err != nil {
			return err
		}
		if *list {
			return sh.listSettings(t)
		}
		parsed, err := assess.ParseSets(*sets, t)
		if err != nil {
			return &usageError{fmt.Errorf("--set: %w", err)}
		}
		bar := sh.progress("pull")
		out, err := assess.Try(cmd.Context(), t, parsed, speeds, *flags.mesh.si, bar)
		bar("", 0, 0)
		if err != nil {
			return engineFault(err)
		}
		if sh.json {
			return sh.printJSON(out)
		}
		return sh.showWhatIf(heading(t), parsed, out)
	}
	return cmd
}

func settableText() string {
	var b strings.Builder
	b.WriteString("Names:\n")
	for _, s := range assess.Settings() {
		fmt.Fprintf(&b, "  %-20s %s\n", s.Name, s.Note)
	}
	return b.String()
}

type settable struct {
	Name    string  `json:"name"`
	Title   string  `json:"title"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"` // SI
	Note    string  `json:"note"`
	Refused string  `json:"refused,omitempty"`
}

// listSettings prints what may be set and where it stands.
func (sh *shell) listSettings(t assess.Tied) error {
	var out []settable
	p := newPrinter(sh)
	for _, s := range assess.Settings() {
		one := settable{Name: s.Name, Title: s.Title, Unit: s.Dim.SI().Name, Note: s.Note}
		v, err := s.Now(t)
		shown := s.Show(sh.system, v)
		if err != nil {
			one.Refused, shown = err.Error(), "–"
		}
		one.Value = v
		out = append(out, one)
		if !sh.json {
			p.f("%-20s %12s  %s\n", s.Name, shown, p.told(s.Note))
		}
	}
	if sh.json {
		return sh.printJSON(struct {
			Settings []settable `json:"settings"`
		}{out})
	}
	return p.err
}

func (sh *shell) showWhatIf(head string, sets []assess.Set, out assess.WhatIf) error {
	tq, pw := sh.system.Torque(), sh.system.Power()
	p := newPrinter(sh)
	p.f("%s\n", head)
	for _, s := range sets {
		from, to := s.Styled(sh.system)
		p.f("%s: %s → %s\n", s.Setting.Title, from, to)
	}
	p.f("%9s %13s %13s %11s %11s   %s\n", "speed", "torque old", "new", "power old", "new", "change of torque, 95 % band")
	for i, o := range out.Old {
		n, c := out.New[i], out.Change[i]
		note := ""
		if !o.Settled || !n.Settled {
			note = "  did not settle"
		}
		p.f("%5.0f rpm %13s %13s %11s %11s   %+.1f (%+.1f to %+.1f) %s%s\n", o.Speed, tq.Show(o.Torque), tq.Show(n.Torque), pw.Show(o.Power*1e3), pw.Show(n.Power*1e3),
			tq.Value(c.Torque), tq.Value(c.TorqueLo), tq.Value(c.TorqueHi), tq.Unit, note)
	}
	for _, c := range out.Cautions {
		p.f("caution: %s\n", p.told(c))
	}
	if p.err != nil {
		return p.err
	}
	if err := sh.notes(out.Assumed, out.Warnings); err != nil {
		return err
	}
	return sh.printf("The band on the change is what is claimed; no absolute power is promised.\n")
}
