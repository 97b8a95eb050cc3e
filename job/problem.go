package job

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"runnel/internal/fault"
)

// A Problem is one thing wrong with a job folder: where it is, what was found there and what to write.
type Problem struct {
	File   string `json:"file"`          // path inside the folder, "job.toml"
	Line   int    `json:"line"`          // from 1; 0 when it concerns the file as a whole
	Column int    `json:"column"`        // from 1, in characters; 0 like Line
	Key    string `json:"key,omitempty"` // path of the key, "pieces[0].kind", when there is one
	Found  string `json:"found"`
	Write  string `json:"write"` // what to write instead
}

// String writes the problem on one line: "job.toml:12:3: unknown key "bors": write "bore"".
func (p Problem) String() string {
	var b strings.Builder
	b.WriteString(p.File)
	switch {
	case p.Line > 0:
		fmt.Fprintf(&b, ":%d:%d", p.Line, p.Column)
	case p.Key != "":
		b.WriteString(": " + p.Key)
	}
	b.WriteString(": " + p.Found)
	if p.Write != "" {
		b.WriteString(": " + p.Write)
	}
	return b.String()
}

// Problems is everything found wrong at once, file by file from top to bottom.
type Problems []Problem //nolint:errname // it is a list of problems before it is an error

func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// err gives the problems as a failure of the input; nil when there are none.
func (ps Problems) err() error {
	if len(ps) == 0 {
		return nil
	}
	return fault.As(fault.Invalid, ps)
}

// perFile is how many problems of one file are listed before the rest is only counted.
const perFile = 25

// sorted orders the problems by file, job.toml and bench.toml first, then by place, and cuts long lists.
func (ps Problems) sorted() Problems {
	rank := func(file string) int {
		switch file {
		case jobFile:
			return 0
		case benchFile:
			return 1
		default:
			return 2
		}
	}
	slices.SortStableFunc(ps, func(a, b Problem) int {
		return cmp.Or(cmp.Compare(rank(a.File), rank(b.File)), cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	var out Problems
	for len(ps) > 0 {
		n := 1
		for n < len(ps) && ps[n].File == ps[0].File {
			n++
		}
		if n > perFile {
			out = append(out, ps[:perFile]...)
			more := ps[perFile]
			more.Key, more.Found, more.Write = "", fmt.Sprintf("at least %d more problems from here on", n-perFile), "mend those above first"
			out = append(out, more)
		} else {
			out = append(out, ps[:n]...)
		}
		ps = ps[n:]
	}
	return out
}
