package handover

import (
	"errors"
	"fmt"
	"strings"

	"runnel/unit"
)

// Paper is a size of paper.
type Paper int

// The papers.
const (
	A4 Paper = iota
	Letter
)

// ErrPaper is returned for a paper that is not known.
var ErrPaper = errors.New("paper is not known")

// ErrLanguage is returned for a language the handover is not written in.
var ErrLanguage = errors.New("language is not known")

// ParsePaper reads "a4" or "letter".
func ParsePaper(s string) (Paper, error) {
	switch strings.ToLower(s) {
	case "a4", "":
		return A4, nil
	case "letter":
		return Letter, nil
	}
	return A4, fmt.Errorf("%w: %q: write \"a4\" or \"letter\"", ErrPaper, s)
}

func (p Paper) String() string {
	if p == Letter {
		return "letter"
	}
	return "a4"
}

// Options are the choices of whoever prints.
type Options struct {
	Paper    Paper
	System   unit.System // units of the pictures and of the sentences; tables hold both
	Language string      // "en" or empty
	Hash     string      // content hash of the facts when it is known already; empty: computed
}
