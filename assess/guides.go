package assess

import (
	"runnel/engine"
)

// guides puts the closed-form guides beside the pull of an engine: rough lines, with the pull's own answer in the note.
func guides(e *engine.Engine, ps []engine.Point) []Guide {
	if len(ps) == 0 {
		return []Guide{}
	}
	torque, power := ps[0], ps[0]
	for _, p := range ps {
		if p.Torque > torque.Torque {
			torque = p
		}
		if p.Power > power.Power {
			power = p
		}
	}
	tuned := e.EngelmanSpeed() * 60
	return []Guide{
		{
			Name: "speed the runners are tuned to by Engelman's rule", Value: round(tuned, 0), Unit: "rpm",
			Note: "rough, ±25 %; the pull has its highest torque at " + rpm(torque.Speed), Source: "Engelman, ASME 73-WA/DGP-2 (1973), constant 2.1, as quoted in lecture notes",
		},
		{
			Name: "quarter-wave cycles of the runner a revolution at highest torque", Value: torque.Guides.QuarterWave, Unit: "",
			Note: "a description of where the highest torque lies, not a rule: published and computed engines disagree on the best number", Source: "standing wave in a pipe with the end correction of Levine and Schwinger (1948)",
		},
		{
			Name: "mean inlet Mach index at highest power", Value: power.Guides.MachIndex, Unit: "",
			Note: "volumetric efficiency falls fast above 0.5 to 0.6; highest power at " + rpm(power.Speed), Source: "Livengood and Stanitz, NACA TN 915 (1943); Taylor, from memory",
		},
		{
			Name: "runner Mach number at the peak of a quasi-steady draught at highest power", Value: power.Guides.RunnerMach, Unit: "",
			Note: "an upper bound: air inertia and a long cam spread the draught", Source: "continuity",
		},
		{
			Name: "air the engine asks for at highest power", Value: power.AirFlow, Unit: "kg/s",
			Note: "mean over the cycle, all cylinders", Source: "the pull",
		},
	}
}
