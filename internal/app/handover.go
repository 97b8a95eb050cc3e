package app

import (
	"context"
	"encoding/json"
	"fmt"
	"io"

	"runnel/assess"
	"runnel/internal/fault"
	"runnel/internal/handover"
	"runnel/job"
	"runnel/unit"
)

// A Print is how a handover is written.
type Print struct {
	Kind   string      // "pdf", "html" or "json"
	Paper  string      // "a4" or "letter"; empty: A4
	System unit.System // units of pictures and sentences
}

// Handover writes the handover of a job. It waits for the pull; when the pull cannot be computed the handover goes
// without it.
func (a *App) Handover(ctx context.Context, id string, p Print, w io.Writer) error {
	out, err := a.settled(ctx, id)
	if err != nil {
		return err
	}
	return WriteHandover(out.Job, out.Assessment, p, w)
}

// WriteHandover writes the handover of a job that is at hand with its assessment.
func WriteHandover(j job.Job, as assess.Assessment, p Print, w io.Writer) error {
	paper, err := handover.ParsePaper(p.Paper)
	if err != nil {
		return fault.As(fault.Invalid, err)
	}
	if p.Kind == "json" {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		return e.Encode(as)
	}
	d, err := handover.Build(j, as, handover.Options{Paper: paper, System: p.System})
	if err != nil {
		return fmt.Errorf("handover of %q: %w", j.ID, err)
	}
	switch p.Kind {
	case "pdf":
		return d.PDF(w)
	case "html":
		return d.HTML(w)
	}
	return fault.Errorf(fault.Invalid, "a handover of kind %q is not known: ask for \"pdf\", \"html\" or \"json\"", p.Kind)
}
