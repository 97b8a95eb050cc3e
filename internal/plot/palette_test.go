package plot_test

import (
	"math"
	"strings"
	"testing"

	"runnel/internal/plot"
)

func TestContrastOfBlackOnWhite(t *testing.T) {
	// WCAG 2.2: black on white is 21:1 by definition, a colour on itself 1:1.
	white, black := plot.RGB{R: 255, G: 255, B: 255}, plot.RGB{}
	if c := plot.Contrast(white, black); math.Abs(c-21) > 1e-12 {
		t.Errorf("black on white %v", c)
	}
	if c := plot.Contrast(white, white); c != 1 {
		t.Errorf("white on white %v", c)
	}
}

// WCAG 2.2: 4.5:1 for text (1.4.3), 3:1 for the parts of a graphic that carry meaning (1.4.11).
func TestContrast(t *testing.T) {
	for _, k := range plot.Inks() {
		if k == plot.Paper || k == plot.Grid {
			continue
		}
		if k < plot.Part1 {
			checkContrast(t, k.Name()+" words, light", k.LightWord(), plot.Paper.Light(), 4.5)
			checkContrast(t, k.Name()+" words, dark", k.DarkWord(), plot.Paper.Dark(), 4.5)
			checkContrast(t, k.Name()+" marks, light", k.Light(), plot.Paper.Light(), 3)
			checkContrast(t, k.Name()+" marks, dark", k.Dark(), plot.Paper.Dark(), 3)
			continue
		}
		checkContrast(t, "on "+k.Name()+", light", k.LightOn(), k.Light(), 4.5)
		checkContrast(t, "on "+k.Name()+", dark", k.DarkOn(), k.Dark(), 4.5)
	}
}

func checkContrast(t *testing.T, what string, a, b plot.RGB, want float64) {
	t.Helper()
	if c := plot.Contrast(a, b); c < want {
		t.Errorf("%s: %s on %s has %.2f:1, wanted %.1f:1", what, a.Hex(), b.Hex(), c, want)
	}
}

// Full protanopia and deuteranopia on linear light.
// Source: Machado, Oliveira and Fernandes, "A Physiologically-based Model for Simulation of Color Vision
// Deficiency", IEEE Trans. Vis. Comput. Graph. 15 (2009) 1291, table of matrices, severity 1.0.
var blindness = map[string][3][3]float64{
	"full colour vision": {{1, 0, 0}, {0, 1, 0}, {0, 0, 1}},
	"protanopia":         {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia":       {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
}

// A matrix that keeps greys grey has rows that sum to 1: a slip of the pen in one figure shows here.
func TestBlindnessKeepsGreys(t *testing.T) {
	for name, m := range blindness {
		for _, row := range m {
			if s := row[0] + row[1] + row[2]; math.Abs(s-1) > 2e-6 {
				t.Errorf("%s: a row sums to %v", name, s)
			}
		}
	}
}

// Colours that must be told apart in one picture differ by at least 15 (a just noticeable difference is about 2.3) to every
// eye tested. The distance is that of CIE 1976 L*a*b*; the limit is ours.
func TestColoursCanBeToldApart(t *testing.T) {
	const least = 15
	groups := [][]plot.Ink{
		{plot.Before, plot.After, plot.Accent},
		{plot.Gain, plot.Loss, plot.Same},
		{plot.Line1, plot.Line2, plot.Line3, plot.Line4, plot.Line5, plot.Line6, plot.Line7, plot.Line8},
		{plot.Part1, plot.Part2, plot.Part3, plot.Part4, plot.Part5, plot.Part6, plot.Part7, plot.Part8},
	}
	for eye, m := range blindness {
		for _, g := range groups {
			for i, a := range g {
				for _, b := range g[:i] {
					if d := distance(lab(a.Light(), m), lab(b.Light(), m)); d < least {
						t.Errorf("%s, light: %s and %s differ by %.1f", eye, a.Name(), b.Name(), d)
					}
					if d := distance(lab(a.Dark(), m), lab(b.Dark(), m)); d < least {
						t.Errorf("%s, dark: %s and %s differ by %.1f", eye, a.Name(), b.Name(), d)
					}
				}
			}
		}
	}
}

// lab turns a colour, as an eye sees it, into CIE 1976 L*a*b* for D65.
// Source: IEC 61966-2-1 (sRGB to XYZ), ISO/CIE 11664-4 (L*a*b*).
func lab(c plot.RGB, eye [3][3]float64) [3]float64 {
	lin := [3]float64{light(c.R), light(c.G), light(c.B)}
	var s [3]float64
	for i := range s {
		for j := range lin {
			s[i] += eye[i][j] * lin[j]
		}
		s[i] = min(max(s[i], 0), 1)
	}
	x := (0.4124*s[0] + 0.3576*s[1] + 0.1805*s[2]) / 0.9505
	y := 0.2126*s[0] + 0.7152*s[1] + 0.0722*s[2]
	z := (0.0193*s[0] + 0.1192*s[1] + 0.9505*s[2]) / 1.0890
	return [3]float64{116*root(y) - 16, 500 * (root(x) - root(y)), 200 * (root(y) - root(z))}
}

func light(v uint8) float64 {
	s := float64(v) / 255
	if s <= 0.04045 {
		return s / 12.92
	}
	return math.Pow((s+0.055)/1.055, 2.4)
}

func root(t float64) float64 {
	if t > 216./24389 {
		return math.Cbrt(t)
	}
	return (24389./27*t + 16) / 116
}

func distance(a, b [3]float64) float64 {
	return math.Sqrt((a[0]-b[0])*(a[0]-b[0]) + (a[1]-b[1])*(a[1]-b[1]) + (a[2]-b[2])*(a[2]-b[2]))
}

// Every custom property a picture names is set by the style sheet, in light and in dark.
func TestCSSHoldsEveryProperty(t *testing.T) {
	css := plot.CSS()
	for name, f := range figures() {
		for _, e := range elements(t, f.SVG()) {
			for _, a := range e.Attr {
				p, ok := strings.CutPrefix(a.Value, "var(")
				if !ok {
					continue
				}
				p, _, _ = strings.Cut(p, ",")
				if strings.Count(css, p+":") < 3 {
					t.Errorf("%s uses %s, which the style sheet sets %d times", name, p, strings.Count(css, p+":"))
				}
			}
		}
	}
}
