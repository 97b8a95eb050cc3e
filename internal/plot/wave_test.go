package plot_test

import (
	"slices"
	"testing"

	"runnel/internal/plot"
	"runnel/unit"
)

// TestWavesNameBothEnds: the rows of a map lie about their angles, so that its last edge is half a row before the end of the cycle,
// which is named all the same.
func TestWavesNameBothEnds(t *testing.T) {
	m := plot.WaveMap{Position: []float64{0, 0.1}, Ambient: 1e5}
	for k := range 721 {
		m.Angle = append(m.Angle, -180.5+float64(k))
	}
	for range 720 {
		m.Pressure = append(m.Pressure, []float64{1e5})
	}
	ticks := plot.Waves(m, unit.Metric).Y.Ticks
	if !slices.Contains(ticks, -180) || !slices.Contains(ticks, 540) || len(ticks) != 9 {
		t.Errorf("ticks at %v", ticks)
	}
}
