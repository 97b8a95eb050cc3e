package web

import (
	"runnel/job"
)

// names turns the ids of a job into what people call them.
type names struct {
	round, piece map[string]string
	rig          map[string]job.RigCard
}

func namesOf(j job.Job) names {
	n := names{round: map[string]string{}, piece: map[string]string{}, rig: map[string]job.RigCard{}}
	for _, r := range j.Rounds {
		n.round[r.ID] = orID(r.Title, r.ID)
	}
	for _, p := range j.Pieces {
		n.piece[p.ID] = orID(p.Title, p.ID)
	}
	for _, r := range j.Rigs {
		n.rig[r.ID] = r
	}
	return n
}

func orID(title, id string) string {
	if title != "" {
		return title
	}
	return id
}

// Round is what a round is called.
func (n names) Round(id string) string { return orID(n.round[id], id) }

// Piece is what a piece is called.
func (n names) Piece(id string) string { return orID(n.piece[id], id) }

// Entry is how a rig card's entry is set up, in words.
func (n names) Entry(rig string) string {
	if n.rig[rig].Entry == "radiused" {
		return "radiused entry"
	}
	return "bare entry"
}

// opening is what an opening is called: a bare cylinder number gets its noun.
func opening(kind, name string) string {
	if name == "" {
		return "all openings"
	}
	for _, r := range name {
		if r < '0' || r > '9' {
			return name
		}
	}
	switch kind {
	case "head":
		return "port " + name
	case "manifold":
		return "runner " + name
	}
	return "opening " + name
}
