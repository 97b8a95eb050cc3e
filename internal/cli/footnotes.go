package cli

import (
	"fmt"
	"slices"
	"strings"
)

// footnotes are the marks and limits that a print has told, each by the number of its place. What is a reading's own of one, "(got 12)"
// or "(3 of 36 readings)" at its end, is no part of it.
type footnotes struct{ all []string }

// split parts a mark or a limit from what is a reading's own of it.
func split(text string) (base, own string) {
	if i := strings.LastIndex(text, " ("); i > 0 && (strings.HasPrefix(text[i:], " (got ") || strings.HasSuffix(text, " readings)")) {
		return text[:i], text[i:]
	}
	return text, ""
}

// has reports whether a mark or a limit was told.
func (f *footnotes) has(text string) bool {
	base, _ := split(text)
	return slices.Contains(f.all, base)
}

// cite writes marks and limits by their numbers: "[1], [3] (got 12)". With full, one that was not told before is written out behind its
// number.
func (p *printer) cite(f *footnotes, full bool, texts ...string) string {
	words := make([]string, 0, len(texts))
	for _, text := range texts {
		base, own := split(text)
		at := slices.Index(f.all, base)
		word := ""
		if at < 0 {
			at = len(f.all)
			f.all = append(f.all, base)
			if full {
				word = " " + base
			}
		}
		words = append(words, p.told(fmt.Sprintf("[%d]%s%s", at+1, word, own)))
	}
	return strings.Join(words, ", ")
}
