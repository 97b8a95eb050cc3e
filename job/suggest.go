package job

import "strings"

// closest returns the word nearest to s by number of edits, when it is near enough to be what was meant.
func closest(s string, words []string) (string, bool) {
	best, at := "", 1+max(len(s), 3)/3
	for _, w := range words {
		d := edits(strings.ToLower(s), strings.ToLower(w))
		if d < at || (d == at && best == "") {
			best, at = w, d
		}
	}
	return best, best != ""
}

// edits is the number of single letters to put in, take out or change, or neighbours to swap, to turn a into b.
// Source: optimal string alignment; Damerau, CACM 7 (1964) 171.
func edits(a, b string) int {
	if len(a) > 64 || len(b) > 64 {
		return 64
	}
	ra, rb := []rune(a), []rune(b)
	var before, last []int
	row := make([]int, len(rb)+1)
	for j := range row {
		row[j] = j
	}
	for i := range ra {
		before, last, row = last, row, make([]int, len(rb)+1)
		row[0] = i + 1
		for j := range rb {
			cost := 1
			if ra[i] == rb[j] {
				cost = 0
			}
			row[j+1] = min(last[j]+cost, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && ra[i] == rb[j-1] && ra[i-1] == rb[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
	}
	return row[len(rb)]
}

// choices writes a list of words for a message: "a", "b" or "c".
func choices(words []string) string {
	var b strings.Builder
	for i, w := range words {
		switch {
		case i == 0:
		case i == len(words)-1:
			b.WriteString(" or ")
		default:
			b.WriteString(", ")
		}
		b.WriteString(`"` + w + `"`)
	}
	return b.String()
}
