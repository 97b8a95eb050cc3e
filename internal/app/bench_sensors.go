package app

// A probe reads sensors while they are set up.
type probe struct{}

func (a *App) stopProbe() {}
