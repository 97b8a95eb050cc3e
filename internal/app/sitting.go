package app

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// A SittingRef names a sitting as someone saw it.
type SittingRef struct {
	Job     string
	Sitting string
	Tag     string // of the sitting as it was seen, Walk has it; empty: whatever it is by now
}

// A FieldProblems is what is wrong with a form, by field. What was typed is not lost: whoever shows the form shows it again.
type FieldProblems map[string]string //nolint:errname // it is a list of problems before it is an error

func (p FieldProblems) Error() string {
	words := make([]string, 0, len(p))
	for _, k := range slices.Sorted(maps.Keys(p)) {
		words = append(words, p[k])
	}
	return strings.Join(words, "; ")
}

// err gives the problems as a failure of the input; nil when there are none.
func (p FieldProblems) err() error {
	if len(p) == 0 {
		return nil
	}
	return fault.As(fault.Invalid, p)
}

// A sittingEdit is one change to one sitting.
type sittingEdit struct {
	SittingRef
	what string // for the log: "leakage added"
	why  string
	do   func(j job.Job, s *job.Sitting, traces map[string]job.Trace) error
}

// editSitting makes a change to a sitting and keeps it as a new revision of the job, on disk when it returns. A change to
// another part of the job that comes in between is no conflict; one to the same sitting is when the reference carries a tag.
func (a *App) editSitting(ctx context.Context, e sittingEdit) (job.Job, error) {
	return a.edit(ctx, edit{
		job: e.Job, what: fmt.Sprintf("sitting %s: %s", e.Sitting, e.what), why: e.why,
		do: func(j job.Job, files store.Files) (store.Files, error) {
			s, err := sittingOf(j, e.Sitting)
			if err != nil {
				return nil, err
			}
			if e.Tag != "" && e.Tag != tagOf(files[s.File]) {
				return nil, fault.Errorf(fault.Conflict, "sitting %q was changed in the meantime: look at what it says now, then save again", e.Sitting)
			}
			s = cloneSitting(s)
			traces := map[string]job.Trace{}
			if err := e.do(j, &s, traces); err != nil {
				return nil, err
			}
			return sittingFiles(s, traces, files)
		},
	})
}

// sittingOf finds a sitting of a job.
func sittingOf(j job.Job, id string) (job.Sitting, error) {
	i := slices.IndexFunc(j.Sittings, func(s job.Sitting) bool { return s.ID == id })
	if i < 0 {
		return job.Sitting{}, fault.Errorf(fault.NotFound, "job %q has no sitting %q", j.ID, id)
	}
	return j.Sittings[i], nil
}

func cloneSitting(s job.Sitting) job.Sitting {
	s.Air, s.Zero, s.Leakage = slices.Clone(s.Air), slices.Clone(s.Zero), slices.Clone(s.Leakage)
	s.Checks, s.Readings = slices.Clone(s.Checks), slices.Clone(s.Readings)
	return s
}

// sittingFiles writes a sitting and new traces into the files of its job.
func sittingFiles(s job.Sitting, traces map[string]job.Trace, before store.Files) (store.Files, error) {
	for name := range traces {
		if _, there := before[name]; there {
			return nil, fault.Errorf(fault.Conflict, "there is a trace %q already", name)
		}
	}
	out, err := writtenFiles(job.Job{Sittings: []job.Sitting{s}, Traces: traces}, func(name string) bool {
		return name == s.File || path.Dir(name) == "traces"
	})
	if err != nil {
		return nil, err
	}
	out[s.File] = append(headComment(before[s.File]), out[s.File]...)
	return out, nil
}

// tagOf names the state of a file.
func tagOf(data []byte) string {
	sum := sha256.Sum256(data)
	return hex.EncodeToString(sum[:6])
}

// Facts returns a job as it is kept, without anything that follows from it.
func (a *App) Facts(ctx context.Context, id string) (job.Job, error) {
	b, _, err := a.open(ctx, id)
	if err != nil {
		return job.Job{}, err
	}
	return b.job, nil
}
