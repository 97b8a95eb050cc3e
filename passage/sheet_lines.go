package passage

import (
	"bufio"
	"io"
)

// lineEnds reads a text so that a carriage return alone, as some spreadsheets end their lines, counts as the end of one.
type lineEnds struct{ r *bufio.Reader }

func (l lineEnds) Read(p []byte) (int, error) {
	for i := range p {
		b, err := l.r.ReadByte()
		if err != nil {
			if i > 0 && err == io.EOF {
				return i, nil
			}
			return i, err
		}
		if b == '\r' {
			if after, _ := l.r.Peek(1); len(after) == 0 || after[0] != '\n' {
				b = '\n'
			}
		}
		p[i] = b
	}
	return len(p), nil
}
