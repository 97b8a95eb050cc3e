package cli

import (
	"fmt"
	"slices"
	"strings"

	"runnel/assess"
)

// footnotes are the stems of the marks and limits that a print has told, each by the number of its place.
type footnotes struct{ all []string }

// has reports whether a mark or a limit was told.
func (f *footnotes) has(text string) bool {
	stem, _ := assess.Stem(text)
	return slices.Contains(f.all, stem)
}

// cite writes marks and limits by their numbers: "[1], [3] (got 12)". With full, one that was not told before is written out behind its
// number.
func (p *printer) cite(f *footnotes, full bool, texts ...string) string {
	words := make([]string, 0, len(texts))
	for _, text := range texts {
		stem, own := assess.Stem(text)
		at := slices.Index(f.all, stem)
		word := ""
		if at < 0 {
			at = len(f.all)
			f.all = append(f.all, stem)
			if full {
				word = " " + stem
			}
		}
		words = append(words, p.told(fmt.Sprintf("[%d]%s%s", at+1, word, own)))
	}
	return strings.Join(words, ", ")
}
