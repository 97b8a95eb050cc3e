package passage

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"math"
	"math/bits"
	"strconv"
)

// ReadSTL reads a mesh from an STL file, binary or ASCII, and joins corners at the same point; scale is the size of the unit of the
// file [m], 0.001 for millimetres. It reads as a stream and keeps no copy of the file. Triangles without area are left out; the
// normals in the file are not used.
//
// It returns ErrSTL with the place in the file and what is wrong there, or ErrTooLarge beyond MaxTriangles, wrapped.
// Source: the STL format as 3D Systems published it in 1989.
func ReadSTL(r io.Reader, scale float64) (*Mesh, error) {
	if !goodLength(scale) {
		return nil, fmt.Errorf("%w: the unit has size %g m", ErrSTL, scale)
	}
	in := bufio.NewReaderSize(r, 1<<16)
	head, err := in.Peek(1024)
	if err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("reading the mesh: %w", err)
	}
	most := 1 << 10                                 // triangles it can hold, as far as is known
	if left, ok := r.(interface{ Len() int }); ok { // it is in memory
		most = (left.Len() + in.Buffered()) / binarySize
	}
	w := &welder{scale: scale}
	if isASCII(head) {
		err = w.ascii(in)
	} else {
		err = w.binary(in, most)
	}
	if err != nil {
		return nil, err
	}
	if len(w.mesh.Triangles) == 0 {
		return nil, fmt.Errorf("%w: it holds no triangle with an area", ErrSTL)
	}
	return &w.mesh, nil
}

// isASCII reports whether a file that begins with head is an ASCII STL. Some binary files begin with "solid" too, but none has the word
// facet, or an end, in what follows.
func isASCII(head []byte) bool {
	s := bytes.ToLower(bytes.TrimLeft(head, " \t\r\n\ufeff"))
	return bytes.HasPrefix(s, []byte("solid")) && !bytes.ContainsRune(s, 0) && (bytes.Contains(s, []byte("facet")) || bytes.Contains(s, []byte("endsolid")))
}

// binarySize is the size of a triangle in a binary file [byte].
const binarySize = 50

// welder gathers triangles and joins equal corners by an open table of their coordinates.
type welder struct {
	scale float64
	mesh  Mesh
	table []int32 // number of a point plus one; 0: free
}

func hashOf(p Vec) uint64 {
	const k = 0x9E3779B97F4A7C15
	h := math.Float64bits(p[0])*k ^ (math.Float64bits(p[1])+k)*0xC2B2AE3D27D4EB4F ^ (math.Float64bits(p[2])+7)*0x165667B19E3779F9
	h ^= h >> 32
	h *= k
	return h ^ h>>29
}

func (w *welder) point(x, y, z float64) int32 {
	p := Vec{x*w.scale + 0, y*w.scale + 0, z*w.scale + 0} // + 0 turns −0 into 0
	if 2*(len(w.mesh.Points)+1) > len(w.table) {
		w.grow()
	}
	mask := uint64(len(w.table) - 1)
	for i := hashOf(p) & mask; ; i = (i + 1) & mask {
		switch n := w.table[i]; {
		case n == 0:
			w.mesh.Points = append(w.mesh.Points, p)
			w.table[i] = int32(len(w.mesh.Points))
			return int32(len(w.mesh.Points) - 1)
		case w.mesh.Points[n-1] == p:
			return n - 1
		}
	}
}

func (w *welder) grow() {
	n := max(1024, 2*len(w.table))
	w.table = make([]int32, n)
	mask := uint64(n - 1)
	for k, p := range w.mesh.Points {
		i := hashOf(p) & mask
		for w.table[i] != 0 {
			i = (i + 1) & mask
		}
		w.table[i] = int32(k + 1)
	}
}

// makeRoom makes room for n triangles and, as a closed surface has, half as many points.
func (w *welder) makeRoom(n int) {
	w.mesh.Triangles = make([][3]int32, 0, n)
	w.mesh.Points = make([]Vec, 0, n/2+n/8)
	w.table = make([]int32, max(1024, 1<<bits.Len(uint(n+n/4))))
}

// add adds a triangle of nine coordinates in the unit of the file.
func (w *welder) add(c [9]float64, n int) error {
	for _, x := range c {
		if math.IsNaN(x) || math.Abs(x*w.scale) > 1e6 {
			return fmt.Errorf("%w: triangle %d has a corner at %g", ErrSTL, n+1, x)
		}
	}
	if n >= MaxTriangles {
		return fmt.Errorf("%w: more than %d triangles: thin it out before", ErrTooLarge, MaxTriangles)
	}
	t := [3]int32{w.point(c[0], c[1], c[2]), w.point(c[3], c[4], c[5]), w.point(c[6], c[7], c[8])}
	if t[0] == t[1] || t[1] == t[2] || t[2] == t[0] {
		return nil
	}
	w.mesh.Triangles = append(w.mesh.Triangles, t)
	return nil
}

// binary reads a binary file, which can hold no more than most triangles whatever its head says.
func (w *welder) binary(in *bufio.Reader, most int) error {
	var head [84]byte
	if n, err := io.ReadFull(in, head[:]); err != nil {
		if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
			return fmt.Errorf("reading the mesh: %w", err)
		}
		return fmt.Errorf("%w: it ends after %d bytes, and its head alone has 84", ErrSTL, n)
	}
	count := binary.LittleEndian.Uint32(head[80:])
	if count > MaxTriangles {
		return fmt.Errorf("%w: it says it has %d triangles, at most %d are read: thin it out before, if it is an STL file at all", ErrTooLarge, count, MaxTriangles)
	}
	w.makeRoom(min(int(count), most))
	var rec [binarySize]byte
	for n := range int(count) {
		if _, err := io.ReadFull(in, rec[:]); err != nil {
			if !errors.Is(err, io.EOF) && !errors.Is(err, io.ErrUnexpectedEOF) {
				return fmt.Errorf("reading the mesh: %w", err)
			}
			return fmt.Errorf("%w: it says it has %d triangles and ends after %d: it was not copied whole", ErrSTL, count, n)
		}
		var c [9]float64
		for k := range c {
			c[k] = float64(math.Float32frombits(binary.LittleEndian.Uint32(rec[12+4*k:])))
		}
		if err := w.add(c, n); err != nil {
			return err
		}
	}
	return nil
}

func (w *welder) ascii(in *bufio.Reader) error {
	var c [9]float64
	have, triangles, line := 0, 0, 0
	for {
		text, err := in.ReadSlice('\n')
		if errors.Is(err, bufio.ErrBufferFull) {
			return fmt.Errorf("%w: line %d is longer than any of an STL file", ErrSTL, line+1)
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return fmt.Errorf("reading the mesh: %w", err)
		}
		line++
		f := bytes.Fields(text)
		switch {
		case len(f) == 0:
		case bytes.EqualFold(f[0], []byte("vertex")):
			if have == 9 || len(f) != 4 {
				return fmt.Errorf("%w: line %d: %q: a loop has three vertices of three numbers", ErrSTL, line, clip(text))
			}
			for k := range 3 {
				v, err := strconv.ParseFloat(string(f[1+k]), 64)
				if err != nil {
					return fmt.Errorf("%w: line %d: %q is not a number", ErrSTL, line, clip(f[1+k]))
				}
				c[have+k] = v
			}
			have += 3
		case bytes.EqualFold(f[0], []byte("endloop")):
			if have != 9 {
				return fmt.Errorf("%w: line %d: the loop ends after %d of three vertices", ErrSTL, line, have/3)
			}
			if err := w.add(c, triangles); err != nil {
				return err
			}
			have = 0
			triangles++
		}
		if err != nil {
			break
		}
	}
	if have != 0 {
		return fmt.Errorf("%w: it ends at line %d within a triangle: it was not copied whole", ErrSTL, line)
	}
	return nil
}

// clip shortens foreign text for a message.
func clip(b []byte) string {
	const most = 40
	b = bytes.TrimSpace(b)
	if len(b) > most {
		return string(b[:most]) + "…"
	}
	return string(b)
}
