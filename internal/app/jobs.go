package app

import (
	"context"
	"time"

	"runnel/assess"
	"runnel/internal/store"
	"runnel/job"
)

// A Card is a job as the list shows it.
type Card struct {
	ID         string
	Title      string
	Customer   string
	Invented   bool // demo data
	BookedIn   time.Time
	ImportedAt time.Time
	Revision   int
	DeletedAt  time.Time
	DeletedWhy string
	Summary    Summary
	Pending    bool   // the summary is being made
	Problem    string // why there is no summary
}

// A Summary is the short of an assessment.
type Summary struct {
	Rounds   []RoundState    `json:"rounds"`
	Readings int             `json:"readings"` // usable
	Refused  int             `json:"refused"`  // not usable
	Headline *assess.Verdict `json:"headline"` // the verdict that answers the job, nil when there is none
	HasPull  bool            `json:"has_pull"` // there is an engine card
}

// A RoundState is one round of the main piece and whether it has been flowed.
type RoundState struct {
	ID       string `json:"id"`
	Piece    string `json:"piece"`
	Title    string `json:"title"`
	Readings int    `json:"readings"` // usable
}

// Jobs lists the jobs in use, the last booked in first. It does not wait long: a card whose summary is not there yet says
// so, and has it when the list is asked for again.
func (a *App) Jobs(ctx context.Context) ([]Card, error) {
	rows, err := a.store.Jobs(ctx)
	if err != nil {
		return nil, err
	}
	made := make([]*making, len(rows))
	for i, row := range rows {
		made[i] = a.summaries.of(row.Hash, a.solving.aside, func() (Summary, error) {
			s, err := a.summary(a.solving.ctx, row)
			if err != nil {
				a.log.Warn("no summary", "job", row.ID, "error", err)
			}
			return s, err
		})
	}
	soon, cancel := context.WithTimeout(ctx, listPatience)
	defer cancel()
	cards := make([]Card, len(rows))
	for i, row := range rows {
		cards[i] = cardOf(row)
		select {
		case <-made[i].done:
		case <-soon.Done():
		}
		made[i].onto(&cards[i])
	}
	return cards, ctx.Err()
}

// listPatience is how long the list waits for the summaries of jobs that were never read by this version.
const listPatience = 60 * time.Millisecond

// Deleted lists the deleted jobs, the last deleted first.
func (a *App) Deleted(ctx context.Context) ([]Card, error) {
	rows, err := a.store.Deleted(ctx)
	if err != nil {
		return nil, err
	}
	cards := make([]Card, len(rows))
	for i, row := range rows {
		cards[i] = cardOf(row)
	}
	return cards, nil
}

func cardOf(r store.Job) Card {
	return Card{
		ID: r.ID, Title: r.Title, Customer: r.Customer, Invented: r.Invented, BookedIn: r.BookedIn,
		ImportedAt: r.ImportedAt, Revision: r.Revision, DeletedAt: r.DeletedAt, DeletedWhy: r.DeletedWhy,
	}
}

func summarize(j job.Job, as assess.Assessment) Summary {
	s := Summary{HasPull: j.Engine != nil}
	usable := map[string]int{}
	for _, r := range as.Readings {
		if r.Usable {
			s.Readings++
			usable[r.Round]++
		} else {
			s.Refused++
		}
	}
	main := MainPiece(j)
	for _, r := range j.Rounds {
		if r.Piece == main {
			s.Rounds = append(s.Rounds, RoundState{ID: r.ID, Piece: r.Piece, Title: r.Title, Readings: usable[r.ID]})
		}
	}
	s.Headline = Headline(j, as)
	return s
}

// MainPiece returns the piece the job is about: the one with the most rounds, the first of them when several have.
func MainPiece(j job.Job) string {
	n, best, name := map[string]int{}, 0, ""
	for _, r := range j.Rounds {
		n[r.Piece]++
	}
	for _, p := range j.Pieces {
		if n[p.ID] > best {
			best, name = n[p.ID], p.ID
		}
	}
	return name
}

// Headline returns the verdict that answers the job: over all openings of the main piece, the comparison that spans the
// most rounds; of those that span the same, the first that is comparable. It is nil when there is none.
func Headline(j job.Job, as assess.Assessment) *assess.Verdict {
	main, place := MainPiece(j), map[string]int{}
	for i, r := range j.Rounds {
		place[r.ID] = i
	}
	var best *assess.Verdict
	span := func(v *assess.Verdict) int { return place[v.To] - place[v.From] }
	for i := range as.Verdicts {
		v := &as.Verdicts[i]
		if v.Piece != main || v.Opening != "" {
			continue
		}
		if best == nil || span(v) > span(best) || span(v) == span(best) && best.Refused != "" && v.Refused == "" {
			best = v
		}
	}
	return best
}
