package capture

import (
	"cmp"
	"slices"
	"time"
)

// How long after it was last seen a fault counts as over.
const clearAfter = 1500 * time.Millisecond

// A faultKey tells faults apart.
type faultKey struct {
	kind            Kind
	channel, source string
}

// A faultLog knows which faults last and what has begun and ended since it was last asked.
type faultLog struct {
	open map[faultKey]*Fault
	seen map[faultKey]time.Duration
	news []Fault
}

func newFaultLog() *faultLog {
	return &faultLog{open: map[faultKey]*Fault{}, seen: map[faultKey]time.Duration{}}
}

// raise says that something is wrong now. The words of a fault may change while it lasts.
func (l *faultLog) raise(k faultKey, text string, now time.Duration, wall time.Time) {
	l.seen[k] = now
	if f, ok := l.open[k]; ok {
		f.Text = text
		return
	}
	f := &Fault{Kind: k.kind, Channel: k.channel, Source: k.source, Text: text, Since: wall, From: now.Seconds()}
	l.open[k] = f
	l.news = append(l.news, *f)
}

// settle ends the faults that have not been seen for a while.
func (l *faultLog) settle(now time.Duration, wall time.Time) {
	for k, f := range l.open {
		if now-l.seen[k] > clearAfter {
			f.Until, f.To = wall, now.Seconds()
			l.news = append(l.news, *f)
			delete(l.open, k)
			delete(l.seen, k)
		}
	}
}

// lasting lists the faults that last, the oldest first.
func (l *faultLog) lasting() []Fault {
	out := make([]Fault, 0, len(l.open))
	for _, f := range l.open {
		out = append(out, *f)
	}
	slices.SortFunc(out, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(a.From, b.From), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Channel, b.Channel), cmp.Compare(a.Source, b.Source))
	})
	return out
}

// told returns what has begun and ended since the last call.
func (l *faultLog) told() []Fault {
	n := l.news
	l.news = nil
	return n
}
