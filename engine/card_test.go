package engine

import (
	"slices"
	"testing"
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
