package engine

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"runnel/job"
)

// What is taken of a wall that was not described is said in degrees that a thermometer shows: 450 K are 176.85 °C.
func TestAssumedWallsAreToldInDegrees(t *testing.T) {
	e, err := FromCard(published(t, "v8_longrunner.toml"), Flowed{})
	if err != nil {
		t.Fatal(err)
	}
	if e.Heat.WallTemp != 450 || !slices.Contains(e.Assumed, "cylinder wall at 177 °C") {
		t.Errorf("a cylinder wall of %g K, told as one of %q", e.Heat.WallTemp, e.Assumed)
	}
}

// TestSaidOfTheCard: what of a card is left out, taken or shared out is said, whether or not its neighbour keys are there.
func TestSaidOfTheCard(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*job.Engine)
		want   string
	}{
		{"primaries without a length", func(c *job.Engine) { c.Outlet.PrimaryLength = 0 }, "no primary pipes described, so the collector is left out, too: each exhaust port leads to the open through a pipe 350 mm long and 50.8 mm wide"},
		{"no exhaust", func(c *job.Engine) { c.Outlet = job.OutletCard{} }, "no primary pipes described: each exhaust port leads to the open through a pipe 350 mm long"},
		{"two plenums", func(c *job.Engine) { c.Inlet.Layout = "two_plenums" }, "the first half of the cylinders, up to 4, breathes from one plenum"},
		{"a plenum that is not used", func(c *job.Engine) { c.Inlet.Layout = "individual" }, "the plenum of 6 L is left out"},
		{"some of the friction", func(c *job.Engine) { c.Friction.A = 0.7e5 }, "friction: b, c, d by the usual constants"},
	} {
		card := published(t, "v8_longrunner.toml")
		c.change(&card)
		e, err := FromCard(card, Flowed{})
		if err != nil || !strings.Contains(strings.Join(e.Assumed, "\n"), c.want) {
			t.Errorf("%s: %v\nis not among %q", c.name, err, e.Assumed)
		}
		if usual := DefaultChenFlynn(); c.name == "some of the friction" && (e.Friction.Fit.A != 0.7e5 || e.Friction.Fit.C != usual.C) {
			t.Errorf("friction %+v", e.Friction.Fit)
		}
	}
}

// TestSpeedsOfNoPiston: without a red line the piston's own speed bounds what can be asked for.
func TestSpeedsOfNoPiston(t *testing.T) {
	card := published(t, "v8_longrunner.toml")
	card.RedLine = 0
	e, err := FromCard(card, Flowed{})
	if err != nil {
		t.Fatal(err)
	}
	// A stroke of 4 in at 40 m/s: 11811 rpm.
	if _, err := Pull(t.Context(), e, []float64{20000. / 60}, Options{}, nil); !errors.Is(err, ErrSpeeds) || !strings.Contains(err.Error(), "up to 11811 rpm") {
		t.Errorf("20000 rpm: %v", err)
	}
}
