package validation

import "context"

// An entry is a case and the function that makes its checks.
type entry struct {
	name string // directory
	run  func(context.Context, *book) error
}

// quick makes a case of a function that needs no context.
func quick(f func(*book) error) func(context.Context, *book) error {
	return func(_ context.Context, b *book) error { return f(b) }
}

// cases lists the cases, metering first. A new one is a directory, a file and a line here.
func cases() []entry {
	return []entry{
		{"orifice", quick(orifice)},
		{"expansibility", quick(expansibility)},
		{"meterflow", quick(meterFlow)},
		{"nozzle", quick(nozzle)},
		{"chamber", quick(chamber)},
		{"moistair", quick(moistAir)},
		{"massflow", quick(massFlow)},
		{"isentropic", quick(isentropic)},
		{"shock", quick(shock)},
		{"fanno", quick(fanno)},
		{"guide", quick(guide)},
		{"propagation", quick(propagation)},
		{"dof", quick(dof)},
		{"twosamples", quick(twoSamples)},
		{"randomeffects", quick(randomEffects)},
		{"gauge", quick(gauge)},
		{"nested", quick(nested)},
		{"autocorrelation", quick(autocorrelation)},
		{"steady", quick(steady)},
		{"detectable", quick(detectable)},
		{"coverage", coverage},
		{"pressure", quick(pressure)},
		{"entry", quick(entryLoss)},
		{"throttle", quick(throttle)},
		{"losses", quick(losses)},
		{"friction", quick(friction)},
		{"riemann", quick(riemannCases)},
		{"acoustics", acoustics},
		{"bm1", bm1},
		{"gx160", gx160},
		{"correction", quick(correction)},
		{"basics", quick(basics)},
		{"tuning", quick(tuning)},
	}
}
