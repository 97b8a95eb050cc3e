package web

import "testing"

// What a sensor shows keeps its decimals while it wavers, and a barometer in pascals is no power of ten.
func TestFiguresOfASensor(t *testing.T) {
	for _, c := range []struct {
		x    float64
		n    int
		want string
	}{
		{101325.2, 5, "101325"}, {1814, 5, "1814.0"}, {1809.46, 5, "1809.5"}, {-4.2, 5, "-4.2000"}, {0.0021342, 5, "0.002134"}, {0, 2, "0.0"}, {10.136, 2, "10"}, {0.1718, 2, "0.17"},
	} {
		if got := figures(c.x, c.n); got != c.want {
			t.Errorf("%g to %d figures is %q, want %q", c.x, c.n, got, c.want)
		}
	}
}
