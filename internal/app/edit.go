package app

import (
	"bytes"
	"context"
	"fmt"
	"maps"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

// An edit is one change to the facts of a job.
type edit struct {
	job  string
	what string // for the log: "sitting s3: leakage added"
	why  string // in the words of whoever does it
	// words, when given, stands for what: it is asked after do.
	words func() string
	// do returns the files that are to be replaced or added, out of the job as it is now. It may be called more than once:
	// anew when another edit came first.
	do func(j job.Job, files store.Files) (store.Files, error)
}

// attempts is how often an edit is made anew when another one came first.
const attempts = 8

// edit makes a change to the facts of a job and keeps it as a new revision. The folder is checked as a whole, and what was
// returned is on disk.
func (a *App) edit(ctx context.Context, e edit) (job.Job, error) {
	for try := 1; ; try++ {
		j, again, err := a.tryEdit(ctx, e)
		if again && try < attempts {
			continue
		}
		return j, err
	}
}

func (a *App) tryEdit(ctx context.Context, e edit) (out job.Job, again bool, err error) {
	b, row, err := a.open(ctx, e.job)
	if err != nil {
		return job.Job{}, false, err
	}
	files, err := a.store.Files(ctx, e.job, row.Revision)
	if err != nil {
		return job.Job{}, false, err
	}
	changed, err := e.do(b.job, files)
	if err != nil {
		return job.Job{}, false, err
	}
	files = maps.Clone(files)
	maps.Copy(files, changed)
	j, shop, err := a.readFolder(ctx, files)
	if err != nil {
		return job.Job{}, false, fmt.Errorf("job folder: %w", err)
	}
	if j.ID != e.job {
		return job.Job{}, false, fault.Errorf(fault.Invalid, "an edit cannot rename job %q", e.job)
	}
	what := e.what
	if e.words != nil {
		what = e.words()
	}
	by := store.By{Who: a.who, What: what, Why: strings.TrimSpace(e.why)}
	rev, err := a.store.Edit(ctx, cardFacts(j), row.Revision, files, by)
	if err != nil {
		return job.Job{}, fault.KindOf(err) == fault.Conflict, err
	}
	a.shelve(row.Hash, files.Hash(), shop, j)
	a.log.Info("edited", "job", j.ID, "what", what, "revision", rev)
	return j, false, nil
}

func cardFacts(j job.Job) store.Job {
	return store.Job{ID: j.ID, Title: j.Title, Customer: j.Customer.Name, Invented: j.Invented, BookedIn: j.BookedIn}
}

// shelve puts a job that was just kept on the shelf and begins to correct its readings beside.
func (a *App) shelve(before, hash, shop string, j job.Job) {
	b := a.loaded.put(hash, shop, j)
	if before != "" && before != hash {
		a.solving.stop(before, b.facts()) // nobody asks for the old revision's pull any more, unless the new one has the same
	}
	a.solving.aside(func() {
		if _, err := a.readings(b); err != nil { // whoever opens the job is told
			a.log.Warn("readings", "job", j.ID, "error", err)
		}
	})
	a.benchChanged(j)
}

// writtenFiles returns those files of a job folder that want says, as package job writes them.
func writtenFiles(j job.Job, want func(name string) bool) (store.Files, error) {
	out := store.Files{}
	err := job.Write(j, func(name string, data []byte) error {
		if want(name) {
			out[name] = data
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("writing the job folder: %w", err)
	}
	return out, nil
}

// headComment returns the comment lines that a file begins with: an edit keeps them, such as "# Invented".
func headComment(data []byte) []byte {
	n := 0
	for line := range bytes.Lines(data) {
		if trimmed := bytes.TrimSpace(line); len(trimmed) > 0 && trimmed[0] != '#' {
			break
		}
		n += len(line)
	}
	if !bytes.ContainsRune(data[:n], '#') {
		return nil
	}
	return data[:n:n]
}
