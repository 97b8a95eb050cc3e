package handover

import (
	"slices"
	"strings"
	"time"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/job"
)

// nb joins a number and its unit so that no line breaks between them.
const nb = "\u00a0"

// percent writes a ratio as a share of a hundred: "2.1 %".
func percent(ratio float64, decimals int) string { return plot.Number(100*ratio, decimals) + nb + "%" }

// nbPercent keeps the per cent sign at its number.
func nbPercent(s string) string { return strings.ReplaceAll(s, " %", nb+"%") }

// change writes a ratio after over before as a signed change: "+4.1 %".
func change(ratio float64, decimals int) string {
	return plot.Signed(100*(ratio-1), decimals) + nb + "%"
}

func day(t time.Time) string {
	if t.IsZero() {
		return "–"
	}
	return t.Format("2 January 2006")
}

func orDash(s string) string {
	if strings.TrimSpace(s) == "" {
		return "–"
	}
	return s
}

// listed joins words as a sentence does: "a, b and c".
func listed(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

// sentence makes s a sentence: a capital first, a full stop at the end.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return ""
	}
	s = upper(s)
	if !strings.HasSuffix(s, ".") && !strings.HasSuffix(s, "!") && !strings.HasSuffix(s, "?") {
		s += "."
	}
	return s
}

func upper(s string) string {
	r := []rune(s)
	if len(r) == 0 {
		return s
	}
	return strings.ToUpper(string(r[0])) + string(r[1:])
}

// plural writes "1 reading" and "3 readings".
func plural(n int, one, many string) string {
	if n == 1 {
		return "1" + nb + one
	}
	return plot.Number(float64(n), 0) + nb + many
}

// names turns the short names of a job into what they are called.
type names struct{ j job.Job }

func (n names) piece(id string) string {
	for _, p := range n.j.Pieces {
		if p.ID == id && p.Title != "" {
			return brief(p.Title)
		}
	}
	return id
}

// brief shortens a name that would drown the sentence it stands in.
func brief(name string) string {
	const most = 72
	r := []rune(name)
	if len(r) <= most {
		return name
	}
	return strings.TrimRight(string(r[:most-1]), " ,.-") + "…"
}

func (n names) kind(id string) string {
	for _, p := range n.j.Pieces {
		if p.ID == id {
			return p.Kind
		}
	}
	return ""
}

// opening is what an opening of a piece is called: "runner".
func (n names) opening(piece string) string {
	switch n.kind(piece) {
	case "manifold":
		return "runner"
	case "head":
		return "port"
	case "throttle_body":
		return "bore"
	}
	return "opening"
}

func (n names) round(id string) string {
	if r, ok := n.roundOf(id); ok && r.Title != "" {
		return brief(r.Title)
	}
	return id
}

func (n names) roundOf(id string) (job.Round, bool) {
	for _, r := range n.j.Rounds {
		if r.ID == id {
			return r, true
		}
	}
	return job.Round{}, false
}

func (n names) rigOf(id string) (job.RigCard, bool) {
	for _, r := range n.j.Rigs {
		if r.ID == id {
			return r, true
		}
	}
	return job.RigCard{}, false
}

// entry is how the entry of a rig card was: "bare entry".
func (n names) entry(rig string) string {
	r, ok := n.rigOf(rig)
	if !ok {
		return rig
	}
	words := "bare entry"
	if r.Entry == "radiused" {
		words = "radiused entry"
	}
	if len(r.Fitted) > 0 {
		var fitted []string
		for _, id := range r.Fitted {
			fitted = append(fitted, n.piece(id))
		}
		words += ", " + listed(fitted) + " fitted"
	}
	if r.Direction == "out" {
		words += ", flowed outwards"
	}
	return words
}

// order returns the place of a round in the job, so that tables follow the work.
func (n names) order(round string) int {
	return slices.IndexFunc(n.j.Rounds, func(r job.Round) bool { return r.ID == round })
}

func markOf(v assess.Verdict) Mark {
	if v.Refused != "" {
		return CautionMark
	}
	if ink, _ := plot.WordInk(v.Word); ink == plot.Gain {
		return GainMark
	} else if ink == plot.Loss {
		return LossMark
	}
	return SameMark
}
