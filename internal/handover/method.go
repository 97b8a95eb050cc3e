package handover

func (b *builder) cautions() Section {
	return Section{ID: "cautions", Title: "Before it is fitted and run", Blocks: []Block{
		List{Items: []Item{
			{"Metal dust and burrs", "Clean every passage, bolt hole and sealing face, and look through each with a light. Chips left behind ruin valves, bores and bearings. Wear eye and breathing protection; fine aluminium or magnesium dust burns and can explode."},
			{"Welds", "Welded places are softer than the casting and may hide pores. Check the sealing faces for flatness and the welds for cracks before the piece is bolted down."},
			{"Walls", "Metal was taken away. Measure the walls that are left and test pieces that carry water, oil or boost under pressure, by someone equipped for it, before they are used."},
			{"Mixture", "A change of air flow changes the mixture. It may run lean, knock and do damage: set fuel and ignition anew, with a wide-band sensor, before full load."},
			{"Turning parts", "Keep hands, hair, clothes and rags away from open intakes, fans, belts and blower motors; disconnect power before a piece is changed on the bench."},
			{"The law", "Changes to the intake of a road vehicle may be illegal for road vehicles; check local law on emissions, noise and approval before it goes on a road."},
			{"Local codes and licensed practice come first", "Nothing in this record replaces them or the judgement of who fits the piece."},
		}},
	}}
}

func (b *builder) method() Section {
	s := Section{ID: "method", Title: "How it was measured"}
	rows := []Fact{
		{"Air", "its density comes from pressure, temperature and humidity by the CIPM-2007 equation [1]."},
		{"Flow through the meter", "mass flow equals the discharge coefficient times the expansibility factor times the area of the bore times the square root of twice the pressure difference times the density ahead of it, over the square root of one less the fourth power of bore over pipe; it is solved again until the coefficient fits the Reynolds number [2]."},
		{"Steady part", "the stretch of a trace where a running test sees no drift [3]. The mean is taken of flow, not of pressure, and its uncertainty counts that neighbouring samples resemble each other. The mean lies under the peak of the needle."},
		{"Leakage", "flowed with everything blanked, fitted as k times pressure to a power, and taken off as mass flow at the test pressure."},
		{"Effective area", "mass flow times the square root of gas constant times temperature, over the pressure ahead and the flow function of an ideal nozzle at the pressure ratio of the test. The flow at the reference is computed back from it exactly; the square-root rule of the trade is its limit for small pressure drops."},
		{"Uncertainty", "every cause is a line of a budget, combined by the law of propagation, with a coverage factor for 95 % from the effective degrees of freedom [4]."},
		{"Verdict", "the ratio of effective areas after over before, with its 95 % interval. What both sides share (plate, bench, day) drops out and is left out, by name. A gain or a loss is proven when the whole interval lies beyond the smallest change worth claiming."},
		{"Match", "openings are compared by an analysis of variance with random effects, so that the noise of repeats is not called unevenness; an odd one out is named with care for how many were looked at, and only when it stands out of the scatter of the others, differs from them beyond that of the repeats, and surely by more than the smallest change worth claiming."},
	}
	if len(b.a.Restriction) > 0 {
		rows = append(rows, Fact{"Tract", "pieces measured one by one are put in series by adding one over the square of their effective areas, less what each carries into the next; the drift of the bench between sittings is taken off as for the verdicts."})
	}
	if b.a.Pull != nil {
		rows = append(rows, Fact{"Torque and power", "the Euler equations of gas dynamics in one dimension with friction and heat, a second-order finite-volume scheme, cylinders with a Wiebe burn, heat loss and friction by published correlations. Each measured piece is first flowed in the model and its loss set until the model's reading equals the bench's, the drift of the bench between sittings taken off as for the verdicts. Unknowns are sampled alike before and after."})
	}
	if b.a.Pull != nil && b.a.Pull.Dyno != nil {
		rows = append(rows, Fact{"Dynamometer run", "what is not known of the engine is fitted to it by bounded least squares in which what was believed before counts as a measurement too (Tarantola, Inverse Problem Theory, 2005); where the run scatters by more than its uncertainty lets expect, it is believed less (Birge, Phys. Rev. 40, 1932). What stays unknown is drawn anew for the bands."})
	}
	s.Blocks = append(s.Blocks, Facts{Rows: rows})
	s.Blocks = append(s.Blocks, Paragraph{Text: "References", Style: Head}, List{Items: items(b.references()), Numbered: true})
	return s
}

// references lists the works the method names, in the order of their numbers.
func (b *builder) references() []string {
	meters := noted{}
	for _, m := range b.j.Bench.Meters {
		if b.usedMeter(m.ID) {
			_, source := meterKind(m.Kind)
			meters.add(source)
		}
	}
	second := "The meters of this job: " + listed(meters.all) + "."
	if len(meters.all) == 0 {
		second = "ISO 5167, Measurement of fluid flow by means of pressure differential devices."
	}
	return []string{
		"A. Picard and others, Revised formula for the density of moist air (CIPM-2007), Metrologia 45 (2008) 149.",
		second,
		"S. Cao and R.R. Rhinehart, An efficient method for on-line identification of steady state, J. Process Control 5 (1995) 363.",
		"JCGM 100:2008, Evaluation of measurement data: Guide to the expression of uncertainty in measurement.",
	}
}

func glossary() Section {
	return Section{ID: "words", Title: "Words used", Blocks: []Block{Facts{Rows: []Fact{
		{"Effective area", "the area of an ideal nozzle that would pass the same air at the same pressures; it does not depend on the day's weather."},
		{"Test pressure", "the pressure drop held across the piece while it is flowed."},
		{"95 % interval", "the range that holds the true value in 95 of 100 such cases."},
		{"Proven", "the whole interval lies beyond the smallest change worth claiming."},
		{"Round", "one state of a piece in the work, from as received to finished."},
		{"Rig card", "the exact set-up of a test; only readings under matching cards are compared."},
	}}}}
}
