package passage_test

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"runnel/internal/tabletest"
	"runnel/passage"
)

const mm = 1e-3

// Areas, perimeters (complete elliptic integrals of another program) and hydraulic diameters of ellipses, to its 15 printed figures.
func TestEllipse(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/geometry_sections.csv", 1) {
		s, err := passage.Ellipse(2*r.Num(t, "semi_a_mm")*mm, 2*r.Num(t, "semi_b_mm")*mm)
		if err != nil {
			t.Fatal(err)
		}
		near(t, "area", s.Area/r.Num(t, "area_mm2")*1e6, 1, 1e-12)
		near(t, "perimeter", s.Perimeter/r.Num(t, "perimeter_mm")*1e3, 1, 1e-12)
		near(t, "hydraulic diameter", s.HydraulicDiameter()/r.Num(t, "hydraulic_diameter_mm")*1e3, 1, 1e-12)
	}
}

// The closed forms of every shape against its own outline, which is drawn from the shape's definition: a chord polygon of n points
// is below the curve by about (π/n)²·2/3 in area, 4e-4 at 128 points, and always below.
func TestShapesAgreeWithTheirOutlines(t *testing.T) {
	for name, draw := range map[string]func() (passage.Section, error){
		"round":     func() (passage.Section, error) { return passage.Round(0.04) },
		"ellipse":   func() (passage.Section, error) { return passage.Ellipse(0.05, 0.03) },
		"rectangle": func() (passage.Section, error) { return passage.Rectangle(0.05, 0.03, 0.008) },
		"sharp":     func() (passage.Section, error) { return passage.Rectangle(0.05, 0.03, 0) },
		"four radii": func() (passage.Section, error) {
			return passage.RectangleOf(0.05, 0.03, [4]float64{0, 0.005, 0.01, 0.015})
		},
		"tall d":        func() (passage.Section, error) { return passage.DShape(0.04, 0.05, 0.006) },
		"half circle":   func() (passage.Section, error) { return passage.DShape(0.04, 0.02, 0) },
		"half ellipse":  func() (passage.Section, error) { return passage.DShape(0.04, 0.012, 0) },
		"stadium":       func() (passage.Section, error) { return passage.Rectangle(0.06, 0.03, 0.015) },
		"full circle":   func() (passage.Section, error) { return passage.Rectangle(0.03, 0.03, 0.015) },
		"d with no leg": func() (passage.Section, error) { return passage.DShape(0.04, 0.021, 0.001) },
	} {
		s, err := draw()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		o, err := passage.FromOutline(s.Outline)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if q := o.Area / s.Area; q > 1+1e-12 || q < 1-5e-4 {
			t.Errorf("%s: outline has %.6f of the area", name, q)
		}
		if q := o.Perimeter / s.Perimeter; q > 1+1e-12 || q < 1-2e-4 {
			t.Errorf("%s: outline has %.6f of the perimeter", name, q)
		}
		near(t, name+" width", o.Width, s.Width, 1e-6)
		near(t, name+" height", o.Height, s.Height, 1e-5)
		if s.Roundness() > 1+1e-12 {
			t.Errorf("%s is rounder than a circle: %g", name, s.Roundness())
		}
	}
}

func TestShapesRefuse(t *testing.T) {
	for name, err := range map[string]error{
		"zero diameter":     second(passage.Round(0)),
		"nan":               second(passage.Ellipse(math.NaN(), 1)),
		"corner too large":  second(passage.Rectangle(0.05, 0.03, 0.016)),
		"negative corner":   second(passage.Rectangle(0.05, 0.03, -0.001)),
		"d corner":          second(passage.DShape(0.04, 0.02, 0.001)),
		"thin perimeter":    second(passage.AreaPerimeter(1e-3, 0.1)),
		"two points":        second(passage.FromOutline([]passage.Point{{0, 0}, {1, 1}})),
		"figure of eight":   second(passage.FromOutline([]passage.Point{{0, 0}, {1, 1}, {1, 0}, {0, 1}})),
		"nan in an outline": second(passage.FromOutline([]passage.Point{{0, 0}, {1, 0}, {math.NaN(), 1}})),
	} {
		if !errors.Is(err, passage.ErrShape) {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := second(passage.FromOutline([]passage.Point{{0, 0}, {1, 0}, {2, 0}})); !errors.Is(err, passage.ErrZeroArea) {
		t.Errorf("flat outline: %v", err)
	}
	if err := second(passage.AreaPerimeter(0, 1)); !errors.Is(err, passage.ErrZeroArea) {
		t.Errorf("zero area: %v", err)
	}
	err := second(passage.FromOutline([]passage.Point{{0, 0}, {0.02, 0.02}, {0.02, 0}, {0, 0.02}}))
	if err == nil || !strings.Contains(err.Error(), "10.0, 10.0 mm") {
		t.Errorf("the crossing is not named: %v", err)
	}
}

func second(_ passage.Section, err error) error { return err }

// Area, perimeter, width and sense of an outline do not depend on where it starts or which way it runs.
func TestOutlineSense(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.IntRange(3, 40).Draw(r, "n")
		p := make([]passage.Point, n)
		for i := range p {
			d := rapid.Float64Range(0.01, 0.03).Draw(r, "radius")
			sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(n))
			p[i] = passage.Point{1 + d*cos, 2 + d*sin}
		}
		a, err := passage.FromOutline(p)
		if err != nil {
			r.Fatal(err)
		}
		q := append([]passage.Point(nil), p[n/2:]...)
		q = append(q, p[:n/2]...)
		for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
			q[i], q[j] = q[j], q[i]
		}
		b, err := passage.FromOutline(q)
		if err != nil {
			r.Fatal(err)
		}
		if math.Abs(a.Area/b.Area-1) > 1e-9 || math.Abs(a.Perimeter/b.Perimeter-1) > 1e-12 || a.Roundness() > 1 {
			r.Errorf("%+v and %+v", a, b)
		}
	})
}
