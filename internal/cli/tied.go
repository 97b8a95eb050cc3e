package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"runnel/assess"
	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

// engineFlags are what every command about an engine shares.
type engineFlags struct {
	speeds, state string
	fit           bool
	fitSet        func() bool
	mesh          *quantity
}

func addEngineFlags(cmd *cobra.Command) *engineFlags {
	f := &engineFlags{}
	cmd.Flags().StringVar(&f.speeds, "speeds", "", "speeds in rpm, first:last:step or a list (default: the card's, else up to its red line)")
	cmd.Flags().StringVar(&f.state, "state", "", "of a job folder: before or after the work (default after)")
	cmd.Flags().BoolVar(&f.fit, "fit", false, "fit what is not known of the engine to the dynamometer run of its card (default: for a job folder)")
	f.fitSet = func() bool { return cmd.Flags().Changed("fit") }
	f.mesh = quantityFlag(cmd, "mesh", unit.Length, "15 mm", "cell length of the pipes")
	return f
}

// tied loads an engine file, or a job folder in the state asked for, and the speeds to run.
func (sh *shell) tied(ctx context.Context, path string, f *engineFlags) (assess.Tied, []float64, error) {
	if m := *f.mesh.si; m < 1e-3 || m > 0.2 {
		return assess.Tied{}, nil, &usageError{fmt.Errorf("--mesh of %g mm: write 1 mm to 200 mm", 1e3*m)}
	}
	bar := sh.progress("engine")
	defer bar("", 0, 0)
	t, err := f.tied(ctx, path, bar)
	if err != nil {
		return t, nil, engineFault(err)
	}
	speeds, err := assess.SpeedsOf(t.Card, f.speeds)
	switch {
	case err != nil && f.speeds != "":
		return t, nil, &usageError{fmt.Errorf("--speeds: %w", err)}
	case err != nil:
		return t, nil, fault.As(fault.Invalid, err)
	}
	return t, speeds, nil
}

func (f *engineFlags) tied(ctx context.Context, path string, progress assess.Progress) (assess.Tied, error) {
	if !isFolder(path) {
		if f.state != "" {
			return assess.Tied{}, &usageError{errors.New("--state is for a job folder: an engine file has one state only")}
		}
		card, err := loadEngine(path)
		if err != nil {
			return assess.Tied{}, err
		}
		if err := f.fittable(card); err != nil {
			return assess.Tied{}, err
		}
		t, err := assess.TieCard(card)
		if err != nil || !f.fit {
			return t, err
		}
		one := []assess.Tied{t}
		err = assess.Fit(ctx, one, progress)
		return one[0], err
	}
	k, err := stateIndex(f.state)
	if err != nil {
		return assess.Tied{}, err
	}
	j, err := app.LoadFolder(path)
	if err != nil {
		return assess.Tied{}, err
	}
	if j.Engine != nil {
		if err := f.fittable(*j.Engine); err != nil {
			return assess.Tied{}, err
		}
	}
	both, err := assess.Twins(ctx, j, progress)
	if err != nil {
		return assess.Tied{}, err
	}
	if f.fit || !f.fitSet() {
		err = assess.Fit(ctx, both, progress)
	}
	return both[k], err
}

// fittable refuses --fit where there is nothing to fit to: the pull would look as if it had been fitted.
func (f *engineFlags) fittable(card job.Engine) error {
	if f.fit && len(card.Dyno) == 0 {
		return &usageError{errors.New("--fit: the engine card has no dynamometer run: add [[engine.dyno]] with speed = \"3000 rpm\" and torque = \"245 N·m\" for each point, or leave --fit out")}
	}
	return nil
}

func stateIndex(state string) (int, error) {
	switch state {
	case "before":
		return 0, nil
	case "", "after":
		return 1, nil
	}
	return 0, &usageError{fmt.Errorf("--state %q: write before or after", state)}
}

func isFolder(path string) bool {
	st, err := os.Stat(path)
	return err == nil && st.IsDir()
}

func loadEngine(name string) (job.Engine, error) {
	data, err := os.ReadFile(name)
	if err != nil {
		return job.Engine{}, fault.As(fault.NotFound, err)
	}
	return job.LoadEngine(name, data)
}

// engineFault marks what the description is at fault for as bad input.
func engineFault(err error) error {
	if assess.Invalid(err) {
		return fault.As(fault.Invalid, err)
	}
	return err
}

func (sh *shell) notes(assumed, warnings []string) error {
	for _, a := range assumed {
		if err := sh.printf("assumed: %s\n", sh.system.Text(a)); err != nil {
			return err
		}
	}
	for _, w := range warnings {
		if err := sh.printf("note: %s\n", sh.system.Text(w)); err != nil {
			return err
		}
	}
	return nil
}

// heading is the title of an engine and its state.
func heading(t assess.Tied) string {
	parts := []string{t.Card.Title}
	if t.Card.Title == "" {
		parts[0] = "The engine"
	}
	if t.State != "" {
		parts = append(parts, t.State+" the work")
	}
	return strings.Join(parts, ", ")
}
