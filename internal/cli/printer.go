package cli

import (
	"strings"

	"runnel/assess"
)

// A printer writes lines and keeps the first error.
type printer struct {
	sh  *shell
	err error
}

func newPrinter(sh *shell) *printer { return &printer{sh: sh} }

func (p *printer) f(format string, args ...any) {
	if p.err == nil {
		p.err = p.sh.printf(format, args...)
	}
}

// told is a sentence of the engineering in the units asked for.
func (p *printer) told(text string) string { return p.sh.system.Text(text) }

func (p *printer) restriction(a assess.Assessment) {
	if len(a.Restriction) == 0 {
		return
	}
	area := p.sh.system.Area()
	p.f("\nWhat holds the flow back\n")
	for _, r := range a.Restriction {
		p.f("%s: tract %s (%s to %s), most in %s:", r.State, area.Show(r.Area), area.Show(r.Lower), area.Show(r.Upper), r.HoldsBack)
		for _, q := range r.Pieces {
			p.f(" %s %.0f %%", q.Piece, 100*q.Share)
		}
		p.f("\n")
	}
	if words := a.Restriction[0].BenchWords(); words != "" {
		p.f("%s\n", p.told(words))
	}
}

func (p *printer) pull(a assess.Assessment) {
	if a.Pull == nil {
		return
	}
	tq, pw := p.sh.system.Torque(), p.sh.system.Power()
	p.f("\nPull, before and after the work\n%9s %13s %13s %12s %11s   %s\n", "speed", "torque before", "after", "power before", "after", "change of torque, 95 % band")
	for i, b := range a.Pull.Before {
		if i >= len(a.Pull.After) || i >= len(a.Pull.Change) {
			p.f("%5.0f rpm %13s %13s %11s\n", b.Speed, tq.Show(b.Torque), "", pw.Show(b.Power*1e3))
			continue
		}
		f, c := a.Pull.After[i], a.Pull.Change[i]
		p.f("%5.0f rpm %13s %13s %12s %11s   %+.1f (%+.1f to %+.1f) %s\n", b.Speed, tq.Show(b.Torque), tq.Show(f.Torque), pw.Show(b.Power*1e3), pw.Show(f.Power*1e3),
			tq.Value(c.Torque), tq.Value(c.TorqueLo), tq.Value(c.TorqueHi), tq.Unit)
	}
	p.dyno(a.Pull.Dyno)
	p.notes(a.Pull.Warnings)
	p.f("The band on the change is what is claimed.\n") // that no absolute power is promised stands among the warnings
}

// dyno prints what a dynamometer run taught.
func (p *printer) dyno(d *assess.DynoFit) {
	if d == nil {
		return
	}
	p.f("\n%s\n", p.told(d.Note))
	if words := d.BandWords(p.sh.system.Torque().Show); words != "" {
		p.f("%s\n", words)
	}
	for _, u := range d.Unknowns {
		p.f("  %s\n", p.told(u.Words()))
	}
}

func liftText(sh *shell, lift float64) string {
	if lift == 0 {
		return ""
	}
	return sh.system.Length().Show(lift)
}

func liftSuffix(sh *shell, lift float64) string {
	if lift == 0 {
		return ""
	}
	return " at " + sh.system.Length().Show(lift)
}

// markedText is what a verdict is marked with, and which limits it left: in full the first time, which cited remembers, and by its
// number from then on.
func (p *printer) markedText(v assess.Verdict, cited *footnotes) string {
	var s string
	if len(v.Marks) > 0 {
		s += "; marked " + p.cite(cited, true, v.Marks...)
	}
	if len(v.Warnings) > 0 {
		s += "; with care " + p.cite(cited, true, v.Warnings...)
	}
	return s
}

// bridgedText says what was bridged: in full the first time, which said remembers, and by its name from then on.
func bridgedText(v assess.Verdict, said map[string]bool) string {
	if len(v.Bridged) == 0 {
		return ""
	}
	words := make([]string, 0, len(v.Bridged))
	for _, b := range v.Bridged {
		name, _, _ := strings.Cut(b, ":")
		if !said[b] {
			name = b
		}
		said[b] = true
		words = append(words, name)
	}
	return "; bridged: " + strings.Join(words, ", ")
}
