package cli

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/job"
	"runnel/unit"
)

func studyCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "study FILE",
		Short: "Repeatability study: how much of the scatter is the gauge and how much the pieces",
		Long: `Repeatability study: several people read several pieces several times, and the scatter is split between repeats, people and
pieces. Crossed: every person reads every piece. Nested: each person has pieces of their own.

FILE is CSV, one reading a row, the unit at the end of the column of readings,

  piece,person,flow_cfm
  plate 1,Ann,146.9
  plate 1,Ann,147.1
  plate 1,Ben,146.5

or TOML with unit = "cfm" and a list [[readings]] of piece, person and value. Variances are in the unit of the file, squared.`,
		Example: `  runnel study people.csv --claim "2 %"`,
		Args:    cobra.ExactArgs(1),
	}
	claim := quantityFlag(cmd, "claim", unit.Ratio, "0 %", "change that is to be claimed with this way of measuring")
	nested := cmd.Flags().Bool("nested", false, "each person had pieces of their own (default: as the readings say)")
	crossed := cmd.Flags().Bool("crossed", false, "every person read every piece (default: as the readings say)")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if *nested && *crossed {
			return &usageError{errors.New("--nested and --crossed exclude each other: give one of them")}
		}
		if *claim.si < 0 || *claim.si >= 1 {
			return &usageError{fmt.Errorf("--claim %s is no change to claim: write it above zero, in per cent, like \"2 %%\"", claim.text)}
		}
		data, err := readFile(args[0])
		if err != nil {
			return err
		}
		s, err := job.ReadStudy(args[0], data)
		if err != nil {
			return err
		}
		switch {
		case *nested:
			s.Design = "nested"
		case *crossed:
			s.Design = "crossed"
		}
		a, err := app.Study(s, *claim.si)
		if err != nil {
			return err
		}
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showStudy(a)
	}
	return cmd
}

// unitBehind is the unit of a study or a comparison behind a number.
func unitBehind(name string) string {
	if word := app.UnitWord(name); word != "" {
		return " " + word
	}
	return ""
}

func (sh *shell) showStudy(a app.StudyAnswer) error {
	p := newPrinter(sh)
	u := unitBehind(a.Unit)
	if a.Title != "" {
		p.f("%s\n", a.Title)
	}
	p.f("%d pieces × %d people × %d repeats, %s; mean %.6g%s\n\n", a.Pieces, a.People, a.Repeats, a.Design, a.Mean, u)
	p.f("%-22s %14s %14s %10s\n", "", "variance", "deviation", "share")
	share := func(v float64) float64 { return 100 * v / a.VarTotal }
	for _, r := range []struct {
		name   string
		v, dev float64
	}{
		{"repeats", a.VarRepeat, a.SDRepeat},
		{"people (reproduce)", a.VarReproduce, a.SDReproduce},
		{"gauge, both together", a.VarGauge, a.SDGauge},
		{"pieces", a.VarPart, a.SDPart},
	} {
		p.f("%-22s %14.6g %14.6g %8.1f %%\n", r.name, r.v, r.dev, share(r.v))
	}
	p.f("\nThe gauge is %.1f %% of all variance and tells %.1f kinds of piece apart.\n", 100*a.GaugeShare, a.Categories)
	p.f("Two single readings of one piece by anyone differ by up to %.2f %% (95 %%).\n", 100*a.LeastChange)
	if a.Claim > 0 {
		p.f("Of a claimed change of %.3g %% the gauge eats %.0f %%", 100*a.Claim, 100*a.Eats)
		if a.Eats >= 1 {
			p.f(": nothing is left of it; repeat the readings")
		}
		p.f(".\n")
	}
	p.notes(a.Warnings)
	return p.err
}
