package plot_test

import (
	"strings"
	"testing"

	"runnel/assess"
	"runnel/internal/plot"
	"runnel/unit"
)

// What is tried: the old curve dashed behind, both named, an axis that stays still while the change is dragged, and no change without one.
func TestTriedFigures(t *testing.T) {
	old := []assess.Point{{Speed: 2000, Torque: 200, TorqueLo: 190, TorqueHi: 210}, {Speed: 4000, Torque: 250, TorqueLo: 240, TorqueHi: 260}}
	small := []assess.Point{{Speed: 2000, Torque: 203, TorqueLo: 203, TorqueHi: 203}, {Speed: 4000, Torque: 247, TorqueLo: 247, TorqueHi: 247}}
	large := []assess.Point{{Speed: 2000, Torque: 196, TorqueLo: 196, TorqueHi: 196}, {Speed: 4000, Torque: 262, TorqueLo: 262, TorqueHi: 262}}
	f := plot.TriedTorque(old, small, unit.Metric)
	if !strings.Contains(f.Desc, "Peak as it is: 250.0 N·m at 4000 rpm. Peak changed: 247.0 N·m at 4000 rpm.") {
		t.Errorf("described as %q", f.Desc)
	}
	svg := f.SVG()
	for _, want := range []string{"as it is", "changed", "Torque, N·m"} {
		if !strings.Contains(svg, want) {
			t.Errorf("no %q in the picture", want)
		}
	}
	elements(t, svg)
	if axis(small) != axis(large) {
		t.Errorf("the axis moves: %q and %q", axis(small), axis(large))
	}
	if alone := plot.TriedTorque(old, nil, unit.Metric).SVG(); strings.Contains(alone, ">changed<") {
		t.Error("without a change there is a changed curve")
	}
	if us := plot.TriedPower(old, small, unit.US).SVG(); !strings.Contains(us, "Power, hp") {
		t.Error("US power is not in hp")
	}
	c := plot.TriedChange([]assess.Change{{Speed: 2000, Torque: 3, TorqueLo: 1, TorqueHi: 5}, {Speed: 4000, Torque: -3, TorqueLo: -5, TorqueHi: -1}}, unit.Metric)
	if svg := c.SVG(); !strings.Contains(svg, "changed − as it is") || strings.Contains(svg, "after − before") || !strings.Contains(c.Desc, "Largest change: +3.0 N·m at 2000 rpm.") {
		t.Errorf("the change is described as %q", c.Desc)
	}
}

// axis is the range that the figure of a change is sure to hold.
func axis(changed []assess.Point) string {
	old := []assess.Point{{Speed: 2000, Torque: 200}, {Speed: 4000, Torque: 250}}
	svg := plot.TriedTorque(old, changed, unit.Metric).SVG()
	from := strings.Index(svg, "Torque, N·m")
	var out []string
	for _, v := range []string{">150<", ">200<", ">250<", ">300<"} {
		if strings.Contains(svg[from:], v) || strings.Contains(svg[:from], v) {
			out = append(out, v)
		}
	}
	return strings.Join(out, " ")
}
