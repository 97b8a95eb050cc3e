package assess

import (
	"fmt"
	"math"
	"strings"

	"runnel/engine"
)

// farShare is the change of a piece's size beyond which it counts as another piece than the one that was read [-]: common practice, no
// source.
const farShare = 0.10

// extrapolation says where a change leaves what was measured: pieces that were never flowed at that size, lifts the head was not flowed
// at, settings beyond their slider. The bands do not know how far the model holds there.
func extrapolation(t Tied, e *engine.Engine, sets []Set) (out []string) {
	flowed := func(prefix string) bool {
		for _, c := range t.Closures {
			if strings.HasPrefix(c.Opening, prefix) {
				return true
			}
		}
		return false
	}
	runner, far := 0.0, []string{}
	for _, s := range sets {
		share := math.Abs(s.To/s.From - 1)
		switch {
		case strings.HasPrefix(s.Setting.Name, "runner."):
			runner = max(runner, share)
		case s.Setting.Name == "throttle.bore" && t.Card.Inlet.ThrottlePiece != "":
			out = append(out, fmt.Sprintf("Not measured: a throttle body %.0f %% off the one that was flowed. Its effective area is taken to follow the bore squared.", 100*share))
		}
		if lo, hi := s.Setting.Range(s.From); s.To < lo-s.Setting.Step/2 || s.To > hi+s.Setting.Step/2 {
			far = append(far, strings.ToLower(s.Setting.Title))
		}
	}
	if runner > 0 && flowed("runner") {
		text := fmt.Sprintf("Not measured: runners up to %.0f %% off those that were flowed. The loss found on the bench is carried over unchanged, and the band does not know how well that holds.", 100*runner)
		if runner > farShare {
			text += " That is far: flow the changed piece, or a mock-up of it, before metal is cut."
		}
		out = append(out, text)
	}
	if top := lastLift(t.Engine.In); top > 0 {
		was, _ := t.Engine.Intake.Peak()
		if is, _ := e.Intake.Peak(); is > top+1e-6 && is > was+1e-6 {
			out = append(out, fmt.Sprintf("Not measured: the intake valve would lift %.1f mm and was flowed up to %.1f mm. Beyond that its flow is taken to stay as it is there.", is*1e3, top*1e3))
		}
	}
	if len(far) > 0 {
		out = append(out, "Far out: "+strings.Join(far, ", ")+" lies beyond the reach of its slider. Burn, heat and friction are taken as they were; the band does not know how far that holds.")
	}
	return out
}

// lastLift returns the highest lift a side was flowed at [m], 0 where it was not.
func lastLift(v engine.ValveFlow) float64 {
	if n := len(v.Measured); n > 0 {
		return v.Measured[n-1].Lift
	}
	return 0
}
