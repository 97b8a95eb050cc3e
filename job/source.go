package job

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"unicode/utf8"
)

// fileLimit is the largest file that is read [bytes].
const fileLimit = 64 << 20

var errTooLarge = errors.New("file is larger than 64 MB")

// A source is the text of one file and where its lines begin.
type source struct {
	name  string
	data  []byte
	start []int // byte offset of each line
}

// newSource takes the text of a file. A byte-order mark is left off, and lines that end in a carriage return alone, as some spreadsheets
// write them, count as lines; UTF-16 and broken UTF-8 are problems.
func newSource(name string, data []byte) (*source, Problems) {
	var ps Problems
	switch {
	case bytes.HasPrefix(data, []byte("\xef\xbb\xbf")):
		data = data[3:]
	case bytes.HasPrefix(data, []byte("\xff\xfe")), bytes.HasPrefix(data, []byte("\xfe\xff")):
		ps = append(ps, Problem{File: name, Line: 1, Column: 1, Found: "the file is UTF-16 text", Write: "save it as UTF-8"})
		data = nil
	}
	if bytes.IndexByte(data, '\n') < 0 {
		data = bytes.ReplaceAll(data, []byte("\r"), []byte("\n"))
	}
	s := &source{name: name, data: slices.Clip(data), start: []int{0}}
	for i, c := range data {
		if c == '\n' {
			s.start = append(s.start, i+1)
		}
	}
	if at := invalidUTF8(data); at >= 0 {
		ps = append(ps, s.problem(at, "", fmt.Sprintf("byte 0x%02x is no UTF-8 text", data[at]), "save the file as UTF-8"))
		s.data, s.start = nil, []int{0}
	}
	return s, ps
}

func invalidUTF8(data []byte) int {
	if utf8.Valid(data) {
		return -1
	}
	for i := 0; i < len(data); {
		r, n := utf8.DecodeRune(data[i:])
		if r == utf8.RuneError && n <= 1 {
			return i
		}
		i += n
	}
	return -1
}

// place returns the line and the column, in characters, of a byte offset.
func (s *source) place(offset int) (line, column int) {
	offset = min(max(offset, 0), len(s.data))
	i, exact := slices.BinarySearch(s.start, offset)
	if !exact {
		i--
	}
	return i + 1, utf8.RuneCount(s.data[s.start[i]:offset]) + 1
}

// line returns the text of the line that holds a byte offset, without its end.
func (s *source) line(offset int) string {
	n, _ := s.place(offset)
	end := len(s.data)
	if n < len(s.start) {
		end = s.start[n]
	}
	return strings.TrimRight(string(s.data[s.start[n-1]:end]), "\r\n")
}

func (s *source) problem(offset int, key, found, write string) Problem {
	line, column := s.place(offset)
	return Problem{File: s.name, Line: line, Column: column, Key: key, Found: found, Write: write}
}
