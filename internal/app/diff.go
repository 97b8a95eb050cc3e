package app

import (
	"slices"
	"strings"
)

// A DiffLine is one line of a changed text.
type DiffLine struct {
	Mark string // "+" comes, "−" goes, "" stays, "…" stands for lines that stay and are not shown
	Text string
}

// diffAround is how many lines that stay are shown around a change.
const diffAround = 2

// diffLines lists what changes from one text to another, line by line, by the longest common run of lines.
func diffLines(before, after string) []DiffLine {
	x, y := strings.Split(before, "\n"), strings.Split(after, "\n")
	common := make([][]int, len(x)+1) // common[i][j]: longest common run of x[i:] and y[j:]
	for i := range common {
		common[i] = make([]int, len(y)+1)
	}
	for i, gone := range slices.Backward(x) {
		for j, come := range slices.Backward(y) {
			if gone == come {
				common[i][j] = common[i+1][j+1] + 1
			} else {
				common[i][j] = max(common[i+1][j], common[i][j+1])
			}
		}
	}
	var all []DiffLine
	for i, j := 0, 0; i < len(x) || j < len(y); {
		switch {
		case i < len(x) && j < len(y) && x[i] == y[j]:
			all = append(all, DiffLine{"", x[i]})
			i, j = i+1, j+1
		case j == len(y) || (i < len(x) && common[i+1][j] >= common[i][j+1]):
			all = append(all, DiffLine{"−", x[i]})
			i++
		default:
			all = append(all, DiffLine{"+", y[j]})
			j++
		}
	}
	return nearChanges(all)
}

// nearChanges leaves out the lines that stay and are not near a change.
func nearChanges(all []DiffLine) []DiffLine {
	var out []DiffLine
	for i, l := range all {
		near := false
		for k := max(0, i-diffAround); k <= min(len(all)-1, i+diffAround); k++ {
			near = near || all[k].Mark != ""
		}
		switch {
		case near:
			out = append(out, l)
		case len(out) > 0 && out[len(out)-1].Mark != "…":
			out = append(out, DiffLine{Mark: "…"})
		}
	}
	if n := len(out); n > 0 && out[n-1].Mark == "…" {
		out = out[:n-1]
	}
	return out
}
