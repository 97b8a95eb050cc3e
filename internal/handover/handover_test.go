package handover_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"unicode"

	"runnel/assess"
	"runnel/internal/handover"
	"runnel/internal/plot"
	"runnel/internal/plot/plottest"
	"runnel/job"
	"runnel/unit"
)

func build(t *testing.T, j job.Job, a assess.Assessment, o handover.Options) handover.Document {
	t.Helper()
	if o.Hash == "" {
		o.Hash = fixtureHash
	}
	d, err := handover.Build(j, a, o)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func pdf(t *testing.T, d handover.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := d.PDF(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func page(t *testing.T, d handover.Document) string {
	t.Helper()
	var b strings.Builder
	if err := d.HTML(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestPaperCanvas(t *testing.T) { plottest.Canvas(t, handover.NewPaperCanvas) }

// cases are the jobs a handover must cope with.
func cases() map[string]func(*job.Job, *assess.Assessment) {
	long := strings.Repeat("Very-Long-Name of a customer with a great many words ", 6) + strings.Repeat("x", 300)
	return map[string]func(*job.Job, *assess.Assessment){
		"whole":             func(*job.Job, *assess.Assessment) {},
		"no engine":         func(j *job.Job, a *assess.Assessment) { j.Engine, a.Pull = nil, nil },
		"a dynamometer run": func(_ *job.Job, a *assess.Assessment) { a.Pull.Dyno = fixtureDyno() },
		"nothing but a title": func(j *job.Job, a *assess.Assessment) {
			*j = job.Job{ID: "x", Title: "x", Customer: job.Customer{Name: "y"}}
			*a = assess.Assessment{}
		},
		"all refused": func(_ *job.Job, a *assess.Assessment) {
			for i := range a.Readings {
				a.Readings[i].Usable, a.Readings[i].Refused = false, "void"
			}
			a.Verdicts, a.Match, a.Restriction = nil, nil, nil
		},
		"long names": func(j *job.Job, a *assess.Assessment) {
			j.Title, j.Customer.Name, j.Shop.Name, j.Customer.AskedFor = long, long, long, long
			for i := range j.Pieces {
				j.Pieces[i].Title = long
			}
			for i := range j.Rounds {
				j.Rounds[i].Title, j.Rounds[i].Did = long, long
			}
			a.Readings[3].Refused = long
		},
		"many readings": func(_ *job.Job, a *assess.Assessment) {
			for range 4 {
				a.Readings = append(a.Readings, a.Readings...)
			}
		},
	}
}

// The same facts give the same bytes, and every odd job gives a document.
func TestSameFactsSameBytes(t *testing.T) {
	for name, change := range cases() {
		for _, paper := range []handover.Paper{handover.A4, handover.Letter} {
			j, a := fixtureJob(), fixture()
			change(&j, &a)
			o := handover.Options{Paper: paper, System: unit.System(paper)}
			one, two := build(t, j, a, o), build(t, j, a, o)
			if !bytes.Equal(pdf(t, one), pdf(t, two)) {
				t.Errorf("%s, %v: two PDFs differ", name, paper)
			}
			if page(t, one) != page(t, two) {
				t.Errorf("%s, %v: two pages differ", name, paper)
			}
		}
	}
}

func TestHashIsTakenFromTheFacts(t *testing.T) {
	j := fixtureJob()
	want, err := j.ContentHash()
	if err != nil {
		t.Fatal(err)
	}
	d, err := handover.Build(j, fixture(), handover.Options{})
	if err != nil || d.Hash != want {
		t.Fatalf("hash %q, %v; the facts have %q", d.Hash, err, want)
	}
	j.Rounds[1].Did = "something else"
	other, err := handover.Build(j, fixture(), handover.Options{})
	if err != nil || other.Hash == d.Hash {
		t.Errorf("other facts, the same hash (%v)", err)
	}
}

func TestOptionsRefused(t *testing.T) {
	if _, err := handover.Build(fixtureJob(), fixture(), handover.Options{Language: "fr"}); !errors.Is(err, handover.ErrLanguage) {
		t.Errorf("language fr: %v", err)
	}
	if _, err := handover.ParsePaper("a3"); !errors.Is(err, handover.ErrPaper) {
		t.Errorf("paper a3: %v", err)
	}
	for _, p := range []handover.Paper{handover.A4, handover.Letter} {
		if got, err := handover.ParsePaper(p.String()); err != nil || got != p {
			t.Errorf("%v is read back as %v, %v", p, got, err)
		}
	}
}

// texts lists all text of the tree that must be readable on paper and on the page.
func texts(d handover.Document) []string {
	out := []string{d.Title}
	for _, f := range d.Head {
		out = append(out, f.Name, f.Value)
	}
	for _, s := range d.Sections {
		out = append(out, s.Title)
		for _, b := range s.Blocks {
			out = append(out, blockTexts(b)...)
		}
	}
	return out
}

func blockTexts(b handover.Block) []string {
	var out []string
	switch b := b.(type) {
	case handover.Paragraph:
		out = append(out, b.Text)
	case handover.Outcome:
		out = append(out, b.Text)
	case handover.List:
		for _, it := range b.Items {
			out = append(out, it.Lead, it.Text)
		}
	case handover.Facts:
		for _, f := range b.Rows {
			out = append(out, f.Name, f.Value)
		}
	case handover.Table:
		out = append(out, b.Caption)
		for _, r := range b.Rows {
			out = append(append(out, r.Group, r.Rest), r.Cells...)
		}
		out = append(out, b.Notes...)
	case handover.Picture:
		out = append(out, b.Figure.Title, b.Caption)
	case handover.Sign:
		out = append(out, b.Lines...)
	default:
		panic(fmt.Sprintf("a block of a new kind: %T", b))
	}
	return out
}

// bare leaves only letters and digits, so that line breaks and spacing do not matter.
func bare(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsLetter(r) || unicode.IsDigit(r) {
			return r
		}
		return -1
	}, s)
}

// Paper and page hold every text of the tree: they cannot tell different stories.
func TestPaperAndPageSayTheSame(t *testing.T) {
	d := build(t, fixtureJob(), fixture(), handover.Options{System: unit.Metric})
	onPage := bare(textOf(t, page(t, d)))
	words := 0
	for _, s := range texts(d) {
		words += len(strings.Fields(s))
		if !strings.Contains(onPage, bare(s)) {
			t.Errorf("the page does not say %q", s)
		}
	}
	if words < 800 {
		t.Errorf("only %d words in the tree: the check is blind", words)
	}
	onPaper := bare(paperText(t, pdf(t, d), "-raw"))
	for _, s := range texts(d) {
		for word := range strings.FieldsSeq(s) {
			if !strings.Contains(onPaper, bare(word)) {
				t.Errorf("the paper does not say %q of %q", word, s)
			}
		}
	}
}

// textOf returns the text of an HTML page without its head.
func textOf(t *testing.T, page string) string {
	t.Helper()
	_, body, _ := strings.Cut(page, "</head>")
	body, _, _ = strings.Cut(body, "</html>")
	dec := xml.NewDecoder(strings.NewReader(body))
	dec.Strict, dec.AutoClose, dec.Entity = false, xml.HTMLAutoClose, xml.HTMLEntity
	var b strings.Builder
	for {
		tok, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return b.String()
		}
		if err != nil {
			t.Fatal(err)
		}
		if text, ok := tok.(xml.CharData); ok {
			b.Write(text)
		}
	}
}

// The first page answers in words: the change, its interval and the verdict; nothing is promised of power.
func TestFirstPageAnswers(t *testing.T) {
	d := build(t, fixtureJob(), fixture(), handover.Options{})
	first, _, _ := strings.Cut(paperText(t, pdf(t, d)), "\f")
	first = strings.Join(strings.Fields(first), " ")
	for _, want := range []string{
		"mean flow of the runners rose by 4.1 %", "95 % interval 3.6 to 4.6 %", "a proven gain", "is not comparable", "1 reading does not count",
		"A prediction, not a measurement", "not promised", "holds the flow back most is: Cylinder head",
	} {
		if !strings.Contains(strings.ReplaceAll(first, "\u00a0", " "), want) {
			t.Errorf("the first page does not say %q:\n%s", want, first)
		}
	}
}

// The words of a verdict follow its mark, also for a loss, for no change and for none that can be told.
func TestVerdictWords(t *testing.T) {
	for _, c := range []struct {
		ratio, lo, hi float64
		word          string
		repeats       int
		want          string
		mark          handover.Mark
	}{
		{0.971, 0.962, 0.98, "proven loss", 0, "fell by 2.9 % from ‘as received’ to ‘finished’, bare entry (95 % interval 2.0 to 3.8 %): a proven loss.", handover.LossMark},
		{1.002, 0.993, 1.011, "no proven change", 4, "moved by +0.2 % from ‘as received’ to ‘finished’, bare entry (95 % interval −0.7 to +1.1 %): no proven change. To settle it, about 4 readings of each opening", handover.SameMark},
		{1.0001, 0.998, 1.002, "the same within 0.5 %", 0, "moved by 0.0 % from ‘as received’ to ‘finished’, bare entry (95 % interval −0.2 to +0.2 %): the same within 0.5 %.", handover.SameMark},
	} {
		a := fixture()
		v := a.Verdicts[0]
		v.Ratio, v.Lo95, v.Hi95, v.Word, v.RepeatsNeeded = c.ratio, c.lo, c.hi, c.word, c.repeats
		a.Verdicts = []assess.Verdict{v}
		got := outcomes(build(t, fixtureJob(), a, handover.Options{}))[0]
		if text := strings.ReplaceAll(got.Text, "\u00a0", " "); !strings.Contains(text, c.want) || got.Mark != c.mark {
			t.Errorf("%s: mark %v, %q; wanted %q", c.word, got.Mark, text, c.want)
		}
	}
}

func outcomes(d handover.Document) []handover.Outcome {
	var out []handover.Outcome
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if o, ok := b.(handover.Outcome); ok {
				out = append(out, o)
			}
		}
	}
	return out
}

// A column of numbers has one number of decimals, so that the points stand under one another.
func TestDecimalsAlign(t *testing.T) {
	number := regexp.MustCompile(`^[+−]?[0-9\x{2009}]+(\.[0-9]+)?$`)
	seen := 0
	for _, s := range build(t, fixtureJob(), fixture(), handover.Options{}).Sections {
		for _, b := range s.Blocks {
			table, ok := b.(handover.Table)
			if !ok {
				continue
			}
			for i, c := range table.Columns {
				decimals := -1
				for _, r := range table.Rows {
					if i >= len(r.Cells) || !c.Number || !number.MatchString(r.Cells[i]) {
						continue
					}
					seen++
					_, frac, _ := strings.Cut(r.Cells[i], ".")
					if decimals >= 0 && len(frac) != decimals {
						t.Errorf("%s, %s: %q has not %d decimals", s.Title, c.Head, r.Cells[i], decimals)
					}
					decimals = len(frac)
				}
			}
		}
	}
	if seen < 100 {
		t.Errorf("only %d numbers seen: the check is blind", seen)
	}
}

// Warnings that differ only in the value that was got are one, with all values.
func TestWarningsAreGrouped(t *testing.T) {
	a := fixture()
	a.Warnings = nil
	a.Readings[0].Warnings = []string{"limit X (got 1.2)", "other"}
	a.Readings[1].Warnings = []string{"limit X (got 1.3)"}
	text := page(t, build(t, fixtureJob(), a, handover.Options{}))
	if !strings.Contains(text, "Limit X (got 1.2; 1.3).") || strings.Count(text, "Limit X") != 1 {
		t.Error("the two warnings of limit X are not one")
	}
	if !strings.Contains(text, "<td>1, 2</td>") || !strings.Contains(text, "<td>1</td>") {
		t.Error("the rows do not point at their warnings")
	}
}

// The one-file HTML refers to nothing outside, has no script and lets no markup of the facts through.
func TestHTMLStandsAlone(t *testing.T) {
	j, a := fixtureJob(), fixture()
	j.Title = `<script>alert("x")</script> & "more"`
	j.Rounds[1].Did = `<img src=x onerror=alert(1)>`
	a.Warnings = []string{`</style><b>bold</b>`}
	text := page(t, build(t, j, a, handover.Options{}))
	for _, bad := range []string{"<script", "<img", "<link", "http://", "https://", "url(", "@import", "<b>", "<iframe"} {
		if strings.Contains(strings.ReplaceAll(text, `xmlns="http://www.w3.org/2000/svg"`, ""), bad) {
			t.Errorf("the page holds %q", bad)
		}
	}
	if !strings.Contains(textOf(t, text), `<script>alert("x")</script> & "more"`) {
		t.Error("the title is not shown as it was written")
	}
}

// An engine that is not known gives no curve and says so.
func TestNoEngine(t *testing.T) {
	j, a := fixtureJob(), fixture()
	cases()["no engine"](&j, &a)
	d := build(t, j, a, handover.Options{})
	for _, s := range d.Sections {
		for _, b := range s.Blocks {
			if p, ok := b.(handover.Picture); ok && strings.Contains(p.Figure.Title, "orque") {
				t.Errorf("a picture of torque without an engine: %s", p.Figure.Title)
			}
		}
	}
	if !strings.Contains(page(t, d), "no torque or power is predicted") {
		t.Error("the page does not say that nothing is predicted")
	}
}

// Cautions stand in every handover, whatever the job.
func TestCautions(t *testing.T) {
	for name, change := range cases() {
		j, a := fixtureJob(), fixture()
		change(&j, &a)
		text := page(t, build(t, j, a, handover.Options{}))
		for _, want := range []string{"Metal dust and burrs", "Welded places", "under pressure", "run lean", "blower motors", "may be illegal for road vehicles; check local law", "licensed practice"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: no word of %q", name, want)
			}
		}
	}
}

func TestMarksHaveSignAndInk(t *testing.T) {
	for _, want := range []struct {
		mark handover.Mark
		sign string
		ink  plot.Ink
	}{{handover.GainMark, "▲", plot.Gain}, {handover.LossMark, "▼", plot.Loss}, {handover.SameMark, "●", plot.Same}} {
		if want.mark.Sign() != want.sign || want.mark.Ink() != want.ink {
			t.Errorf("mark %d is %s", want.mark, want.mark.Sign())
		}
	}
}

func BenchmarkPDF(b *testing.B) {
	d, err := handover.Build(fixtureJob(), fixture(), handover.Options{Hash: fixtureHash})
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if err := d.PDF(&bytes.Buffer{}); err != nil {
			b.Fatal(err)
		}
	}
}

// A dynamometer run is told on page and paper: how far off the model was and is, what became of each unknown and of both bands, and that
// nothing absolute is promised for it. Without one no word of it is said.
func TestDyno(t *testing.T) {
	j, a := fixtureJob(), fixture()
	if text := textOf(t, page(t, build(t, j, a, handover.Options{}))); strings.Contains(text, "dynamometer run") {
		t.Error("a run is spoken of that there is none of")
	}
	cases()["a dynamometer run"](&j, &a)
	d := build(t, j, a, handover.Options{System: unit.Metric})
	onPage, onPaper := bare(textOf(t, page(t, d))), bare(paperText(t, pdf(t, d), "-raw"))
	for _, want := range []string{
		"Fitted to a dynamometer run", "off it by 5.0 % on average, fitted by 1.0 %",
		"Friction: 12 % more than was taken (known to ±10.0 % without the run, ±5.0 % with it).",
		"Half of the charge burned after top centre: 8.1° instead of 8°", "The run hardly tells it.",
		"95 % band on torque is 60 % narrower, ±8.0 N·m instead of ±20.0 N·m", "band on the change is as wide as before, ±3.0 N·m",
		"no absolute torque or power is promised", "was fitted to a dynamometer run of it", "A run of 3 points decides little.", "+5.0", "+1.0",
	} {
		if !strings.Contains(onPage, bare(want)) {
			t.Errorf("the page does not say %q", want)
		}
		if !strings.Contains(onPaper, bare(want)) {
			t.Errorf("the paper does not say %q", want)
		}
	}
}

// A verdict that rests on marked readings says so on paper and page, each mark once with the verdicts and readings it is of.
func TestVerdictsShowTheirMarks(t *testing.T) {
	j, a := fixtureJob(), fixture()
	a.Verdicts[0].Marks = []string{"check plate reads +1.40 % (limit ±1 %) (6 of 12 readings)", "leakage was not measured"}
	a.Verdicts[3].Marks = []string{"check plate reads +1.40 % (limit ±1 %) (1 of 2 readings)"}
	a.Verdicts[3].Warnings = []string{"limit not met: at least two readings on each side (got 1)"}
	text := page(t, build(t, j, a, handover.Options{}))
	for _, want := range []string{
		"check plate reads +1.40 % (limit ±1 %) [All runners: 6 of 12 readings; Runner 3: 1 of 2 readings].",
		"leakage was not measured [All runners].", "at least two readings on each side (got 1) [Runner 3].",
	} {
		if n := strings.Count(text, want); n != 1 {
			t.Errorf("the page says %q %d times", want, n)
		}
	}
}
