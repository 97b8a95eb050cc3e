package wave

// A Joint closes pipe ends and connects them with each other and with vessels.
// The joints of this package are Closed, Mouth, Orifice, Restriction, Junction
// and Neck; a caller may add its own.
type Joint interface {
	// Ends returns the pipe ends the joint closes.
	Ends() []End
	// Vessels returns the vessels it exchanges gas with.
	Vessels() []Vessel
	// Solve answers every port (in the order of Ends) for the step from t to
	// t + dt [s]. It may be called again for a shorter step and must leave
	// the vessels alone.
	Solve(ports []*Port, t, dt float64)
	// Commit hands to the vessels what flowed in the step of dt [s].
	Commit(ports []*Port, dt float64)
	// Area returns the flow area [m²] the joint opens into each vessel, for
	// the limit on the time step.
	Area() float64
}

// A Closed joint is a rigid wall at the end of a pipe.
type Closed struct {
	Pipe End
}

// Ends returns the closed end.
func (c *Closed) Ends() []End { return []End{c.Pipe} }

// Vessels returns none.
func (c *Closed) Vessels() []Vessel { return nil }

// Solve sets the pressure on the wall.
//
//	p_w = p + ρu·[(γ+1)/4·u + √(((γ+1)/4·u)² + a²)]      gas coming on (shock)
//	p_w = p·(1 + (γ−1)/2·u/a)^(2γ/(γ−1))                 gas going away
//
// Source: Toro (2009), 6.3.1, the exact solution at a wall.
func (c *Closed) Solve(ports []*Port, _, _ float64) {
	p := ports[0]
	pw := wallPressure(p)
	p.Set(p.Rho, 0, pw, 0, p.Y)
}

// Commit does nothing: nothing flows.
func (c *Closed) Commit([]*Port, float64) {}

// Area returns 0 [m²].
func (c *Closed) Area() float64 { return 0 }
