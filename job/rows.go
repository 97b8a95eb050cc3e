package job

import (
	"fmt"
	"strconv"
	"strings"
)

// rows splits a text into rows of cells and knows where each cell stands. Cells are parted by commas; one that begins with a
// quotation mark ends at the next. Empty lines and lines that begin with # are passed over.
type rows struct {
	text  string
	start []int // byte offset of each line
	line  int   // the next one
	cells []string
	at    []int // byte offset of each cell of the row
}

func newRows(src *source) *rows { return &rows{text: string(src.data), start: src.start} }

// next returns the cells of the next row; they hold until the call after. ok is false at the end, and after a quotation
// mark that is out of place, whose offset is then bad; otherwise bad is −1.
func (r *rows) next() (cells []string, bad int, ok bool) {
	for r.line < len(r.start) {
		from, to := r.start[r.line], len(r.text)
		if r.line++; r.line < len(r.start) {
			to = r.start[r.line] - 1
		}
		line := strings.TrimSuffix(r.text[from:to], "\r")
		if line == "" || line[0] == '#' {
			continue
		}
		if bad = r.split(line, from); bad >= 0 {
			return nil, bad, false
		}
		return r.cells, -1, true
	}
	return nil, -1, false
}

func (r *rows) split(line string, from int) (bad int) {
	r.cells, r.at = r.cells[:0], r.at[:0]
	for {
		r.at = append(r.at, from)
		if !strings.HasPrefix(line, `"`) {
			cell, rest, more := strings.Cut(line, ",")
			if i := strings.IndexByte(cell, '"'); i >= 0 {
				return from + i
			}
			r.cells = append(r.cells, cell)
			from += len(cell) + 1
			if line = rest; !more {
				return -1
			}
			continue
		}
		end := strings.IndexByte(line[1:], '"')
		if end < 0 {
			return from
		}
		r.cells = append(r.cells, line[1:end+1])
		line, from = line[end+2:], from+end+2
		switch {
		case line == "":
			return -1
		case line[0] != ',':
			return from
		}
		line, from = line[1:], from+1
	}
}

// headerFault says what is wrong with a first row that cannot be a header, and with which of its cells: it holds nothing but numbers, or a
// column has no name. found is empty when nothing is.
func headerFault(row []string, example string) (cell int, found, write string) {
	numbers, empty := 0, -1
	for i, c := range row {
		c = strings.TrimSpace(c)
		if c == "" {
			empty = i
		} else if _, err := strconv.ParseFloat(c, 64); err == nil {
			numbers++
		}
	}
	switch {
	case numbers > 0 && numbers == len(row):
		return 0, "the first line holds numbers, not the names of the columns", "write a header above it like " + example
	case empty >= 0:
		return empty, fmt.Sprintf("column %d has no name", empty+1), "name it, its unit at the end, or take its comma away from every line"
	}
	return 0, "", ""
}
