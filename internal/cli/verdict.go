package cli

import (
	"errors"
	"fmt"
	"strconv"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/unit"
)

func verdictCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "verdict JOBDIR",
		Short: "Did it really help? The change between two rounds with its 95 % interval",
		Long: `Did it really help? The change of flow between two rounds of a piece with its 95 % interval and its word: proven gain, proven
loss, no proven change, or the same within a width. Rig cards must match field by field; test pressure, air, meter, entry and a
fitted throttle body are bridged with their uncertainty and named; anything else is refused with the fields named.`,
		Example: "  runnel verdict my-job --from as-received --to finished\n  runnel verdict my-job --from as-received --to finished --rig bare-28 --json",
		Args:    cobra.ExactArgs(1),
	}
	var b app.Between
	cmd.Flags().StringVar(&b.From, "from", "", "the earlier round")
	cmd.Flags().StringVar(&b.To, "to", "", "the later round")
	cmd.Flags().StringVar(&b.FromRig, "rig", "", "rig card (default: every one both rounds share)")
	cmd.Flags().StringVar(&b.ToRig, "to-rig", "", "rig card of the later round when it differs")
	lift := quantityFlag(cmd, "lift", unit.Length, "", "valve lift (default: all)")
	require(cmd, "from", "to")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if b.ToRig != "" && b.FromRig == "" {
			return &usageError{errors.New("--to-rig goes with --rig, the card of the earlier round")}
		}
		b.Lift, b.OneLift = *lift.si, lift.set
		j, err := app.LoadFolder(args[0])
		if err != nil {
			return err
		}
		v, err := app.VerdictBetween(j, b)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(v)
		}
		p := newPrinter(sh)
		p.verdict(v)
		return p.err
	}
	return cmd
}

func (p *printer) verdict(v app.VerdictAnswer) {
	flow := p.sh.system.Flow()
	p.f("%s: %s → %s, %s%s, %s\n\n", v.Piece, v.From, v.To, rigText(v.Verdict), liftSuffix(p.sh, v.Lift), v.Who())
	p.f("  %s\n\n", v.Word)
	p.f("change        %+.2f %% (%+.2f to %+.2f %%, 95 %%)\n", 100*(v.Ratio-1), 100*(v.Lo95-1), 100*(v.Hi95-1))
	p.f("flow          %s before (n %d), %s after (n %d)\n", flow.Show(v.FromFlow), v.NFrom, flow.Show(v.ToFlow), v.NTo)
	switch {
	case v.RepeatsNeeded == 0:
		p.f("repeats       enough: the verdict is settled\n")
	case v.RepeatsNeeded > 0:
		p.f("repeats       %d of each opening on each side would settle it, if the change is what it looks like (power 0.8)\n", v.RepeatsNeeded)
	default:
		p.f("repeats       no number of repeats settles it: the change is as good as the smallest one worth claiming, or what the sides share does not cancel\n")
	}
	if v.Provable > 0 {
		p.f("resolution    as many repeats as were made can prove a gain of %.2f %% and more (power 0.8)\n", 100*v.Provable)
	}
	for _, b := range v.Bridged {
		p.f("bridged       %s\n", p.told(b))
	}
	var cited footnotes
	for _, m := range v.Marks {
		p.f("marked        %s\n", p.cite(&cited, true, m))
	}
	for _, w := range v.Verdict.Warnings {
		p.f("with care     %s\n", p.cite(&cited, true, w))
	}
	for _, c := range v.Cancelled {
		p.f("drops out     %s\n", c)
	}
	if len(v.Openings) > 0 {
		p.f("\n%10s %10s %20s   %s\n", "opening", "change", "95 %", "")
		for _, o := range v.Openings {
			p.openingLine(o, &cited)
		}
	}
	said := map[string]bool{}
	for i, g := range v.Groups {
		if i == 0 {
			p.f("\nOther rig cards and lifts\n")
		}
		p.f("%s%s: ", rigText(g), liftSuffix(p.sh, g.Lift))
		if g.Refused != "" {
			p.f("not compared: %s\n", p.told(g.Refused))
			continue
		}
		p.f("%+.2f %% (%+.2f to %+.2f %%), %s%s\n", 100*(g.Ratio-1), 100*(g.Lo95-1), 100*(g.Hi95-1), g.Word, p.told(bridgedText(g, said))+p.markedText(g, &cited))
	}
	for _, w := range v.Warnings {
		if !cited.has(w) {
			p.f("note: %s\n", p.told(w))
		}
	}
}

func (p *printer) openingLine(o assess.Verdict, cited *footnotes) {
	if o.Refused != "" {
		p.f("%10s %s\n", o.Opening, "not compared: "+p.told(o.Refused))
		return
	}
	p.f("%10s %+8.2f %% %+8.2f to %+.2f %%   %s%s\n", o.Opening, 100*(o.Ratio-1), 100*(o.Lo95-1), 100*(o.Hi95-1), o.Word, p.markedText(o, cited))
}

func rigText(v assess.Verdict) string {
	if v.FromRig == v.ToRig {
		return v.FromRig
	}
	return v.FromRig + " → " + v.ToRig
}

// parseCount reads a count that may be written as 200000 or 2e5.
func parseCount(text string) (int, error) {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || v < 0 || v > 5e7 || v != float64(int(v)) {
		return 0, fmt.Errorf("%q is no count up to 5e7: write it like 200000 or 2e5", text)
	}
	return int(v), nil
}
