package store

import (
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"strings"
	"time"
)

// A Chunk is a stretch of samples of one source. It has the fields of a chunk of package capture, so that one converts into
// the other.
type Chunk struct {
	Source   string          // name of the source
	Channels []string        // of the bench card
	Times    []time.Duration // monotonic time of each sample within the spell
	Wall     time.Time       // wall clock at the last sample
	Values   [][]float64     // Values[i] are the samples of Channels[i], in the unit of the sensor; NaN: not read
}

// BeginSpell notes that the bench is being read from now on, and returns the number its chunks are kept under.
func (s *Store) BeginSpell(ctx context.Context, sitting string) (spell int64, err error) {
	err = s.tx(ctx, func(tx *sql.Tx) error {
		return tx.QueryRowContext(ctx, `INSERT INTO spells (sitting, begun_at) VALUES (?,?) RETURNING id`, sitting, s.stamp()).Scan(&spell)
	})
	return spell, room(err)
}

// AddChunks keeps samples: when it returns they are on disk. All of them are kept or none. An error that has a method
// DiskFull() bool returning true means what it says.
func (s *Store) AddChunks(ctx context.Context, spell int64, chunks []Chunk) error {
	err := s.tx(ctx, func(tx *sql.Tx) (err error) {
		in, err := tx.PrepareContext(ctx, `INSERT INTO chunks (spell, source, channels, first_ns, last_ns, wall, samples, data) VALUES (?,?,?,?,?,?,?,?)`)
		if err != nil {
			return err
		}
		defer func() { err = errors.Join(err, in.Close()) }()
		for _, c := range chunks {
			n := len(c.Times)
			if n == 0 {
				continue
			}
			if _, err := in.ExecContext(ctx, spell, c.Source, strings.Join(c.Channels, "\n"), int64(c.Times[0]), int64(c.Times[n-1]),
				c.Wall.UTC().Format(stamp), n, pack(c)); err != nil {
				return err
			}
		}
		return nil
	})
	return room(err)
}

// Chunks returns the samples of a spell that touch the stretch from one time of it to another, in the order they were kept.
func (s *Store) Chunks(ctx context.Context, spell int64, from, to time.Duration) ([]Chunk, error) {
	return list(ctx, s.read, scanChunk, `
		SELECT source, channels, wall, samples, data FROM chunks
		WHERE spell = ? AND last_ns >= ? AND first_ns <= ? ORDER BY id`, spell, int64(from), int64(to))
}

func scanChunk(r row) (Chunk, error) {
	var c Chunk
	var channels, wall string
	var n int
	var data []byte
	if err := r.Scan(&c.Source, &channels, &wall, &n, &data); err != nil {
		return c, err
	}
	c.Channels, c.Wall = strings.Split(channels, "\n"), parseTime(wall)
	return c, unpack(data, n, &c)
}

// packing is the first byte of a packed chunk: times as varints of their differences, then each channel's samples as
// little-endian float64.
const packing = 1

func pack(c Chunk) []byte {
	out := make([]byte, 1, 1+len(c.Times)*(5+8*len(c.Values)))
	out[0] = packing
	last := int64(0)
	for _, t := range c.Times {
		out = binary.AppendVarint(out, int64(t)-last)
		last = int64(t)
	}
	for _, column := range c.Values {
		for _, v := range column {
			out = binary.LittleEndian.AppendUint64(out, math.Float64bits(v))
		}
	}
	return out
}

func unpack(b []byte, n int, c *Chunk) error {
	if len(b) == 0 || b[0] != packing {
		return errors.New("a chunk of samples is packed in a way this version does not know")
	}
	b = b[1:]
	c.Times = make([]time.Duration, n)
	last := int64(0)
	for i := range c.Times {
		d, k := binary.Varint(b)
		if k <= 0 {
			return errors.New("a chunk of samples is cut short")
		}
		last += d
		c.Times[i], b = time.Duration(last), b[k:]
	}
	if len(b) != 8*n*len(c.Channels) {
		return fmt.Errorf("a chunk of samples has %d bytes for %d samples of %d channels", len(b), n, len(c.Channels))
	}
	c.Values = make([][]float64, len(c.Channels))
	for k := range c.Values {
		c.Values[k] = make([]float64, n)
		for i := range n {
			c.Values[k][i] = math.Float64frombits(binary.LittleEndian.Uint64(b[8*(k*n+i):]))
		}
	}
	return nil
}

// Extent says how far the samples of a spell reach; ok is false when there are none.
func (s *Store) Extent(ctx context.Context, spell int64) (from, to time.Duration, ok bool, err error) {
	var a, b sql.NullInt64
	err = s.read.QueryRowContext(ctx, `SELECT min(first_ns), max(last_ns) FROM chunks WHERE spell = ?`, spell).Scan(&a, &b)
	return time.Duration(a.Int64), time.Duration(b.Int64), a.Valid, err
}
