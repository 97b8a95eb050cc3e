package assess

import (
	"fmt"
	"strings"
)

func rpm(n float64) string { return fmt.Sprintf("%.0f rpm", n*60) }

// openingWords names openings: "opening 2", "openings 1, 2 and 4".
func openingWords(names []string) string {
	if n := len(names); n > 1 {
		return "openings " + strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
	return "opening " + strings.Join(names, "")
}

// Stem parts a mark or a limit from what is one reading's own of it, "(got 12)" or "(3 of 36 readings)" at its end; own is empty
// without any.
func Stem(text string) (stem, own string) {
	if i := strings.LastIndex(text, " ("); i > 0 && (strings.HasPrefix(text[i:], " (got ") || strings.HasSuffix(text, " readings)")) {
		return text[:i], text[i:]
	}
	return text, ""
}

// Who names what a verdict is of: "opening 2", "all openings", "openings 1, 2 and 4".
func (v Verdict) Who() string {
	switch {
	case v.Opening != "":
		return "opening " + v.Opening
	case len(v.Over) > 0:
		return openingWords(v.Over)
	}
	return "all openings"
}
