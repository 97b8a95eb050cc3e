package plot_test

import (
	"testing"

	"runnel/internal/plot"
	"runnel/internal/plot/plottest"
)

func TestSVGCanvas(t *testing.T) { plottest.Canvas(t, plot.NewSVGCanvas) }
