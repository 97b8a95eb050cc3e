package measure

import (
	"bufio"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// nistDir is where Debian's package python3-scipy keeps the NIST statistical
// reference data sets. They are read from there and not copied.
const nistDir = "/usr/lib/python3/dist-packages/scipy/stats/tests/data"

// nistFile returns the lines of a reference data set, or skips the test.
func nistFile(t *testing.T, name string) []string {
	t.Helper()
	dir := nistDir
	if d := os.Getenv("MEASURE_NIST_DIR"); d != "" {
		dir = d
	}
	f, err := os.Open(filepath.Join(dir, name))
	if err != nil {
		t.Skipf("the data set comes with Debian's package python3-scipy, which is not installed: %v", err)
	}
	defer func() { _ = f.Close() }()
	var lines []string
	sc := bufio.NewScanner(f)
	for sc.Scan() {
		lines = append(lines, sc.Text())
	}
	if err := sc.Err(); err != nil {
		t.Fatal(err)
	}
	return lines
}

// numbers reads every number of a line, passing over words.
func numbers(line string) []float64 {
	var out []float64
	for w := range strings.FieldsSeq(line) {
		if v, err := strconv.ParseFloat(w, 64); err == nil {
			out = append(out, v)
		}
	}
	return out
}

// digits returns how many significant digits of got agree with want.
func digits(got, want float64) float64 {
	if got == want {
		return 15
	}
	return min(15, -math.Log10(math.Abs(got-want)/math.Abs(want)))
}

// Source: NIST statistical reference data sets, analysis of variance, certified
// values in each file. Nine digits are asked of the lower and average level of
// difficulty. The higher level (SmLs07 to 09) adds 10¹² to values with one decimal,
// and storing those in float64 already leaves an error of 6·10⁻⁵ of 0.1: two
// digits are asked, and the number reached is logged.
func TestNISTAnova(t *testing.T) {
	for name, want := range map[string]float64{
		"SiRstv": 9, "SmLs01": 9, "SmLs02": 9, "SmLs03": 9, "AtmWtAg": 9,
		"SmLs04": 9, "SmLs05": 9, "SmLs06": 9, "SmLs07": 3.5, "SmLs08": 3.5, "SmLs09": 3.5,
	} {
		t.Run(name, func(t *testing.T) {
			lines := nistFile(t, "nist_anova/"+name+".dat")
			var between, within []float64
			var groups [][]float64
			data := false
			for _, l := range lines {
				v := numbers(l)
				switch {
				case strings.HasPrefix(l, "Between"):
					between = v
				case strings.HasPrefix(l, "Within"):
					within = v
				case strings.HasPrefix(l, "Data:") && between != nil:
					data = true
				case data && len(v) == 2:
					for len(groups) < int(v[0]) {
						groups = append(groups, nil)
					}
					groups[int(v[0])-1] = append(groups[int(v[0])-1], v[1])
				}
			}
			if len(between) < 4 || len(within) < 3 {
				t.Fatalf("certified values not found: %v, %v", between, within)
			}
			w, err := RandomEffects(groups)
			if err != nil {
				t.Fatal(err)
			}
			if w.DofB != between[0] || w.DofW != within[0] {
				t.Fatalf("degrees of freedom %v and %v, certified %v and %v", w.DofB, w.DofW, between[0], within[0])
			}
			least := math.Inf(1)
			for _, c := range [][2]float64{
				{w.SSBetween, between[1]},
				{w.MSBetween, between[2]},
				{w.F, between[3]},
				{w.SSWithin, within[1]},
				{w.MSWithin, within[2]},
			} {
				least = min(least, digits(c[0], c[1]))
			}
			t.Logf("%.1f digits", least)
			if least < want {
				t.Errorf("%.1f digits agree, want %v", least, want)
			}
		})
	}
}
