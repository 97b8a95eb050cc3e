package gas

// RefTemp is the temperature that sensible energies count from [K].
const RefTemp = 298.15

// A Part is one species of a Blend.
type Part struct {
	Species Species
	Amount  float64 // [mol], of any total
}

// A Blend is an ideal-gas mixture of fixed composition.
type Blend []Part

// DryAir returns dry air as a blend, 1 mol in total.
// Source: mole fractions of N2, O2, Ar, CO2 of the CIPM-2007 reference composition, rounded to 1e-4, from memory.
func DryAir() Blend {
	return Blend{{N2, 0.7809}, {O2, 0.2094}, {Ar, 0.0093}, {CO2, 0.0004}}
}

// Amount returns the total amount of substance [mol].
func (b Blend) Amount() float64 {
	var n float64
	for _, p := range b {
		n += p.Amount
	}
	return n
}

// Mass returns the total mass [kg].
func (b Blend) Mass() float64 {
	var m float64
	for _, p := range b {
		m += p.Amount * p.Species.MolarMass()
	}
	return m
}

// GasConstant returns the specific gas constant R [J/(kg·K)].
//
//	R = Ru·Σn / Σ(n·M)
//
// Definition.
func (b Blend) GasConstant() float64 { return MolarGasConstant * b.Amount() / b.Mass() }

// HeatCapacity returns the specific heat at constant pressure cp [J/(kg·K)] at temperature temp [K]. Definition.
func (b Blend) HeatCapacity(temp float64) float64 {
	var c float64
	for _, p := range b {
		c += p.Amount * p.Species.HeatCapacity(temp)
	}
	return c / b.Mass()
}

// InternalEnergy returns the sensible specific internal energy e [J/kg] at temperature temp [K]: zero at RefTemp. Definition.
func (b Blend) InternalEnergy(temp float64) float64 {
	var h float64
	for _, p := range b {
		h += p.Amount * (p.Species.Enthalpy(temp) - p.Species.Enthalpy(RefTemp))
	}
	return h/b.Mass() - b.GasConstant()*(temp-RefTemp)
}

// Add returns the blend with the amount n [mol] of s added; the receiver stays as it was.
func (b Blend) Add(s Species, n float64) Blend {
	out := make(Blend, 0, len(b)+1)
	done := false
	for _, p := range b {
		if p.Species == s {
			p.Amount += n
			done = true
		}
		out = append(out, p)
	}
	if !done {
		out = append(out, Part{s, n})
	}
	return out
}

// Gamma returns the ratio of specific heats γ [-] at temperature temp [K].
//
//	γ = cp/(cp − R)
//
// Definition.
func (b Blend) Gamma(temp float64) float64 {
	cp := b.HeatCapacity(temp)
	return cp / (cp - b.GasConstant())
}
