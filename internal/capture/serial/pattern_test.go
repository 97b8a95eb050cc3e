package serial

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPatternReads(t *testing.T) {
	for _, c := range []struct {
		pattern, line string
		want          []float64 // nil: the line does not fit
	}{
		{"M{m:Pa} T{t:inH2O}", "M12.5 T-3e-2", []float64{12.5, -0.03}},
		{"M{m} T{t}", "M12.5    T3", []float64{12.5, 3}},
		{"M{m} T{t}", "M 12.5 T 3 ", []float64{12.5, 3}},
		{"{a},{},{b}", "1,2,3", []float64{1, 2, 3}},
		{"{a};{b}", "+1.5;.5", []float64{1.5, 0.5}},
		{"{a} Pa", "7 Pa", []float64{7}},
		{"{a} Pa", "7Pa", []float64{7}},
		{"{a} Pa", "7", nil},
		{"M{m} T{t}", "M12.5 T", nil},
		{"M{m} T{t}", "M12.5 T3 x", nil},
		{"M{m} T{t}", "m12.5 T3", nil},
		{"M{m}", "", nil},
		{"{a},{b}", "1.2.3,4", nil},
		{"{a},{b}", "1;2", nil},
		{"{a}E{b}", "1E5E2", []float64{1e5, 2}},
	} {
		p, err := parsePattern(c.pattern)
		if err != nil {
			t.Errorf("%s: %v", c.pattern, err)
			continue
		}
		got := make([]float64, len(p.names))
		ok := p.read(c.line, got)
		if ok != (c.want != nil) {
			t.Errorf("%s on %q: read %v", c.pattern, c.line, ok)
			continue
		}
		for i, v := range c.want {
			if got[i] != v {
				t.Errorf("%s on %q: got %v, want %v", c.pattern, c.line, got, c.want)
			}
		}
	}
}

func TestSplitReads(t *testing.T) {
	for _, c := range []struct {
		line   string
		wanted []string
		want   []float64
	}{
		{"1.5,2.5;3.5\t4.5", []string{"3", "1"}, []float64{3.5, 1.5}},
		{"a=1 b=2Pa c=3", []string{"b"}, []float64{2}},
		{"a=1 7 b=2", []string{"1", "b"}, []float64{7, 2}},
		{"1,2", []string{"3"}, nil},
		{"a=x", []string{"a"}, nil},
		{"", []string{"1"}, nil},
	} {
		got := make([]float64, len(c.wanted))
		ok := split(c.line, c.wanted, got)
		if ok != (c.want != nil) {
			t.Errorf("%q: read %v", c.line, ok)
			continue
		}
		for i, v := range c.want {
			if got[i] != v {
				t.Errorf("%q: got %v, want %v", c.line, got, c.want)
			}
		}
	}
}

// The check value of the checksum of Modbus over "123456789" is 4B37 (catalogue of parametrised CRC algorithms, CRC-16/MODBUS;
// from memory). The request 01 04 00 05 00 01 has the checksum 21 CB on the wire, low byte first, as python3-pymodbus makes it.
func TestChecksums(t *testing.T) {
	if got := crc16("123456789"); got != 0x4B37 {
		t.Errorf("crc16 is %04X", got)
	}
	if got := crc16("\x01\x04\x00\x05\x00\x01"); got != 0xCB21 {
		t.Errorf("crc16 is %04X", got)
	}
	for _, c := range []struct {
		line, kind, want string
		ok               bool
	}{
		{"$ab*03", "xor", "$ab", true}, // 61 xor 62
		{"ab*C3", "sum", "ab", true},   // 61 + 62
		{"ab*c3", "sum", "ab", true},
		{"ab*C4", "sum", "", false},
		{"ab", "xor", "", false},
		{"ab*", "xor", "", false},
		{"ab*zz", "xor", "", false},
		{"ab*03", "none", "ab*03", true},
		{"123456789*4B37", "crc16", "123456789", true},
	} {
		if got, ok := checked(c.line, c.kind); ok != c.ok || (ok && got != c.want) {
			t.Errorf("%s %s: %q, %v", c.line, c.kind, got, ok)
		}
	}
}

// Whatever numbers a device writes by a pattern are read by it to the last bit.
func TestPatternReadsWhatItWrites(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 5).Draw(t, "fields")
		var pattern, line strings.Builder
		var want []float64
		for i := range n {
			text := rapid.SampledFrom([]string{",", "; ", " m=", "|", " T: "}).Draw(t, "between")
			v := rapid.Float64().Draw(t, "value")
			fmt.Fprintf(&pattern, "%s{f%d:Pa}", text, i)
			fmt.Fprintf(&line, "%s%v", text, v)
			want = append(want, v)
		}
		p, err := parsePattern(pattern.String())
		if err != nil {
			t.Fatal(err)
		}
		got := make([]float64, n)
		if !p.read(strings.TrimSpace(line.String()), got) && !p.read(line.String(), got) {
			t.Fatalf("%q does not read %q", pattern.String(), line.String())
		}
		for i := range want {
			if math.Float64bits(got[i]) != math.Float64bits(want[i]) {
				t.Fatalf("field %d: got %v, wrote %v", i, got[i], want[i])
			}
		}
	})
}

// Any pattern and any line: no panic, and a pattern that is taken reads only finite or spelt-out numbers.
func FuzzPattern(f *testing.F) {
	f.Add("M{m:Pa} T{t}", "M1 T2")
	f.Add("{time:ms},{a}", "1,2")
	f.Fuzz(func(t *testing.T, pattern, line string) {
		p, err := parsePattern(pattern)
		if err != nil || p == nil {
			return
		}
		got := make([]float64, len(p.names))
		if p.read(line, got) {
			for _, v := range got {
				if math.IsNaN(v) {
					t.Errorf("%q on %q gave %v", pattern, line, got)
				}
			}
		}
		split(line, []string{"1", "a"}, make([]float64, 2))
		checked(line, "xor")
	})
}
