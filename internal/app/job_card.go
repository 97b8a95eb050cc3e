package app

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"strings"
	"time"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/job"
)

const jobFile = "job.toml"

// JobText returns a job and the text of its job.toml, with a tag that names this state of the text.
func (a *App) JobText(ctx context.Context, id string) (j job.Job, text, tag string, err error) {
	b, row, err := a.open(ctx, id)
	if err != nil {
		return job.Job{}, "", "", err
	}
	files, err := a.store.Files(ctx, id, row.Revision)
	if err != nil {
		return job.Job{}, "", "", err
	}
	return b.job, string(files[jobFile]), tagOf(files[jobFile]), nil
}

// SaveJobText replaces the job.toml of a job, when it still is what the tag names. A folder that cannot be is not kept: the error carries
// job.Problems.
func (a *App) SaveJobText(ctx context.Context, id, tag, text, why string) error {
	data := []byte(strings.ReplaceAll(text, "\r\n", "\n"))
	_, err := a.edit(ctx, edit{job: id, what: "job.toml written", why: why, do: func(_ job.Job, files store.Files) (store.Files, error) {
		if tag != tagOf(files[jobFile]) {
			return nil, fault.Errorf(fault.Conflict, "job.toml was changed in the meantime: look at what it says now, then write it again")
		}
		if bytes.Equal(data, files[jobFile]) {
			return nil, fault.Errorf(fault.Invalid, "nothing was changed")
		}
		return store.Files{jobFile: data}, nil
	}})
	return err
}

// A NewRound is the form for one more round of a piece.
type NewRound struct {
	Piece string
	Title string // "Ported"
	Did   string // what was done to reach this state
}

// AddRound adds a round to a piece and returns its id. It is written at the end of job.toml; what stands there stays as it was typed. What is
// wrong with the form comes back as FieldProblems.
func (a *App) AddRound(ctx context.Context, id string, f NewRound) (string, error) {
	t := newTypist(a.now())
	title, did := t.text("title", f.Title, `write what the round is called, like "Ported"`), t.text("did", f.Did, "")
	if err := t.err(); err != nil {
		return "", err
	}
	var round string
	_, err := a.edit(ctx, edit{
		job: id, words: func() string { return "round " + round + " added" },
		do: func(j job.Job, files store.Files) (store.Files, error) {
			if !slices.ContainsFunc(j.Pieces, func(p job.Piece) bool { return p.ID == f.Piece }) {
				return nil, FieldProblems{"piece": "choose the piece the work was done on"}.err()
			}
			round = freeRound(j, slug(title))
			text := fmt.Sprintf("\n[[rounds]]\nid = %s\npiece = %s\ntitle = %s\ndate = %s\n",
				job.Quoted(round), job.Quoted(f.Piece), job.Quoted(title), t.now.Format(time.DateOnly))
			if did != "" {
				text += "did = " + job.Quoted(did) + "\n"
			}
			return store.Files{jobFile: append(bytes.TrimRight(slices.Clone(files[jobFile]), "\n"), "\n"+text...)}, nil
		},
	})
	return round, err
}

// freeRound returns an id that no round of the job has.
func freeRound(j job.Job, base string) string {
	return freeID(base, func(id string) bool {
		return slices.ContainsFunc(j.Rounds, func(r job.Round) bool { return r.ID == id })
	})
}
