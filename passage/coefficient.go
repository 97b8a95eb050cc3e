package passage

// A Coefficient is a loss coefficient as a published correlation gives it, with what others say at the same place.
type Coefficient struct {
	K        float64 // loss of total pressure over the velocity head ½ρV² of the section named by the function [-]
	Lo, Hi   float64 // lowest and highest of the published methods looked at [-]
	Source   string  // where K comes from
	Warnings []string
}

// Spread returns a standard uncertainty of K [-]: that of an even spread between Lo and Hi, about K.
//
//	u = √((Hi − Lo)²/12 + ((Hi + Lo)/2 − K)²)
//
// Definition. It speaks for the disagreement of the handbooks, not for any one shop's passage.
func (c Coefficient) Spread() float64 {
	w, off := c.Hi-c.Lo, (c.Hi+c.Lo)/2-c.K
	return hypot(w/sqrt12, off)
}
