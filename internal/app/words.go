package app

import "strconv"

func percent(x float64) string { return strconv.FormatFloat(100*x, 'g', 2, 64) + " %" }

// orElse returns v, or otherwise where v is not given.
func orElse(v, otherwise float64) float64 {
	if v == 0 {
		return otherwise
	}
	return v
}
