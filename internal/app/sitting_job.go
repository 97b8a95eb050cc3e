package app

import (
	"context"
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"runnel/internal/store"
	"runnel/job"
	"runnel/unit"
)

// A NewJob is a job as it is booked in by hand: one piece, its first round, and one rig card. The bench is the shop's, or comes
// from another job.
type NewJob struct {
	Title, Customer, AskedFor    string
	Shop, Place                  string // who does the work; it heads the handover
	Kind, Piece, Openings        string // "1, 2, 3" or "1-6"
	TestPressure, Entry, BenchOf string // BenchOf is the id of the job whose bench card is taken over; empty: the shop's is used
	Blanked                      string
}

// PieceKinds lists what a piece can be.
func PieceKinds() []string { return []string{"manifold", "head", "throttle_body", "spacer", "plenum"} }

// mostOpenings is how many openings a typed range may have.
const mostOpenings = 64

var openingRange = regexp.MustCompile(`^(\d{1,2})\s*[-–]\s*(\d{1,2})$`)

// readOpenings reads "1, 2, 3", "1-6" or names.
func readOpenings(t *typist, typed string) []string {
	var out []string
	for word := range strings.SplitSeq(typed, ",") {
		word = strings.TrimSpace(word)
		if m := openingRange.FindStringSubmatch(word); m != nil {
			from, err1 := strconv.Atoi(m[1])
			to, err2 := strconv.Atoi(m[2])
			if err1 != nil || err2 != nil || from > to || to-from >= mostOpenings {
				t.wrong("openings", `write the range from its lower end, like "1-6"`)
				return nil
			}
			for n := from; n <= to; n++ {
				out = append(out, strconv.Itoa(n))
			}
			continue
		}
		if word != "" {
			out = append(out, word)
		}
	}
	if len(out) == 0 {
		t.wrong("openings", `write the openings by cylinder number, like "1-6"`)
	}
	slices.Sort(out)
	if len(slices.Compact(slices.Clone(out))) != len(out) {
		t.wrong("openings", "an opening stands twice: write every one once")
	}
	slices.SortStableFunc(out, byNumber)
	return out
}

// byNumber orders numbers by value and before names.
func byNumber(a, b string) int {
	x, errX := strconv.Atoi(a)
	y, errY := strconv.Atoi(b)
	switch {
	case errX == nil && errY == nil:
		return x - y
	case errX == nil:
		return -1
	case errY == nil:
		return 1
	}
	return strings.Compare(a, b)
}

// BookIn makes a new job and returns its id. What is wrong with the form comes back as FieldProblems.
func (a *App) BookIn(ctx context.Context, f NewJob) (string, error) {
	t := newTypist(a.now())
	j := job.Job{
		Format: job.Format, Invented: a.demo, Title: t.text("title", f.Title, "write what the job is called"), BookedIn: stampOf(a.now()),
		Customer: job.Customer{Name: t.text("customer", f.Customer, "write whose work it is"), AskedFor: t.text("asked_for", f.AskedFor, "")},
		Shop:     job.Shop{Name: t.text("shop", f.Shop, ""), Place: t.text("place", f.Place, "")},
	}
	kind := t.oneOf("kind", f.Kind, PieceKinds(), "what the piece is")
	piece := job.Piece{ID: strings.ReplaceAll(kind, "_", "-"), Kind: kind, Title: t.text("piece", f.Piece, ""), Openings: readOpenings(t, f.Openings)}
	drop := t.quantity("test_pressure", f.TestPressure, unit.Pressure, `write the test pressure, like "28 inH2O"`)
	entry := t.oneOf("entry", f.Entry, []string{"bare", "radiused"}, "the entry")
	card, err := a.benchFor(ctx, f.BenchOf)
	if err != nil {
		t.wrong("bench_of", err.Error())
	} else if len(card.Meters) == 0 {
		t.wrong("bench_of", "that bench has no meter")
	}
	if err := t.err(); err != nil {
		return "", err
	}
	j.Bench, j.Pieces, j.Tract = card, []job.Piece{piece}, []string{piece.ID}
	j.Rounds = []job.Round{{ID: "received", Piece: piece.ID, Title: "As received", Date: j.BookedIn}}
	j.Rigs = []job.RigCard{{
		ID: entry, Piece: piece.ID, Meter: card.Meters[0].ID, TestPressure: drop, Entry: entry, Blanked: t.text("blanked", f.Blanked, ""),
	}}
	if j.ID, err = a.freeJob(ctx, slug(j.Title)); err != nil {
		return "", err
	}
	files, err := writtenFiles(j, func(name string) bool { return name != benchFile || f.BenchOf != "" })
	if err != nil {
		return "", err
	}
	why := "booked in by hand"
	if f.BenchOf == "" {
		why += ", with the shop's bench card"
	}
	done, err := a.keep(ctx, files, why)
	return done.ID, err
}

// LastShop is who did the work of the newest job that says so: a shop types its name once.
func (a *App) LastShop(ctx context.Context) (job.Shop, error) {
	rows, err := a.store.Jobs(ctx)
	if err != nil {
		return job.Shop{}, err
	}
	slices.SortStableFunc(rows, func(x, y store.Job) int { return y.BookedIn.Compare(x.BookedIn) })
	for _, row := range rows {
		if row.Invented && !a.demo {
			continue // an invented shop is not this one
		}
		if j, err := a.Facts(ctx, row.ID); err == nil && j.Shop.Name != "" {
			return j.Shop, nil
		}
	}
	return job.Shop{}, nil
}

// benchFor is the bench card a new job is booked in with: of another job, or of the shop.
func (a *App) benchFor(ctx context.Context, of string) (job.Bench, error) {
	if of != "" {
		j, err := a.Facts(ctx, of)
		if err != nil {
			return job.Bench{}, errors.New("choose the job whose bench is used")
		}
		return j.Bench, nil
	}
	s, err := a.ShopBench(ctx)
	switch {
	case err != nil:
		return job.Bench{}, fmt.Errorf("the shop's bench card has to be mended first: %w", err)
	case !s.There:
		return job.Bench{}, errors.New("the shop has no bench card yet: set it up, or choose the job whose bench is used")
	}
	return s.Card, nil
}

// slug makes the short name of a job out of its title.
func slug(title string) string {
	var b strings.Builder
	for _, r := range strings.ToLower(title) {
		switch {
		case r < unicode.MaxASCII && (unicode.IsLetter(r) || unicode.IsDigit(r)):
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), "-"):
			b.WriteByte('-')
		}
	}
	s := strings.Trim(b.String(), "-")
	if len(s) > 48 {
		s = strings.Trim(s[:48], "-")
	}
	return orWord(s, "job")
}

// freeJob returns an id that no job has, a deleted one included.
func (a *App) freeJob(ctx context.Context, base string) (string, error) {
	jobs, err := a.store.Jobs(ctx)
	if err != nil {
		return "", err
	}
	gone, err := a.store.Deleted(ctx)
	if err != nil {
		return "", err
	}
	all := slices.Concat(jobs, gone)
	return freeID(base, func(id string) bool { return slices.ContainsFunc(all, func(j store.Job) bool { return j.ID == id }) }), nil
}

// freeID returns base, with the first number behind it that makes it one that is not taken.
func freeID(base string, taken func(id string) bool) string {
	id := base
	for n := 2; taken(id); n++ {
		id = base + "-" + strconv.Itoa(n)
	}
	return id
}
