package engine

import (
	"errors"
	"fmt"

	"runnel/gas"
)

// ErrFuel means that the fuel is not one of those known.
var ErrFuel = errors.New("unknown fuel")

// A Fuel is what the engine burns, with one mole of its mean molecule C_a H_b O_c.
type Fuel struct {
	Name        string
	C, H, O     float64 // atoms in the mean molecule [-]
	Heat        float64 // lower heat of combustion of the liquid at 25 °C [J/kg]
	Evaporation float64 // enthalpy of evaporation [J/kg]
	Evaporated  float64 // share usually evaporated in the air before the valve closes [-]
	Vapour      gas.Blend
}

// Molar masses of carbon, hydrogen, oxygen [kg/mol]; share of oxygen and of the rest of dry air as O2 : N2 : Ar.
const (
	massC     = 12.0107e-3
	massH     = 1.00794e-3
	massO     = 15.9994e-3
	airN2     = 3.7292 // moles of N2 for one of O2 in dry air [-], of gas.DryAir
	airAr     = 0.0444 // moles of argon for one of O2 in dry air [-]
	airMassO2 = 31.9988e-3 + airN2*28.0134e-3 + airAr*39.948e-3
)

// FuelNamed returns a fuel by name: gasoline, e85, ethanol, methanol. Error: ErrFuel.
//
// Source: formulas and heats of Heywood (1988), table D.4, from memory: gasoline C8.26H15.5, 44.0 MJ/kg, 305 kJ/kg; ethanol
// 26.9 MJ/kg, 840 kJ/kg; methanol 20.0 MJ/kg, 1103 kJ/kg. E85 is 85 % ethanol by volume (0.789 and 0.745 kg/L). The share
// evaporated before the valve closes is a guess of common practice: manifold injection near the valve.
func FuelNamed(name string) (Fuel, error) {
	gasoline := Fuel{Name: "gasoline", C: 8.26, H: 15.5, Heat: 44.0e6, Evaporation: 305e3, Evaporated: 0.5, Vapour: gas.Blend{{Species: gas.GasolineVapour, Amount: 1}}}
	ethanol := Fuel{Name: "ethanol", C: 2, H: 6, O: 1, Heat: 26.9e6, Evaporation: 840e3, Evaporated: 0.3, Vapour: gas.Blend{{Species: gas.EthanolVapour, Amount: 1}}}
	switch name {
	case "", "gasoline":
		return gasoline, nil
	case "ethanol":
		return ethanol, nil
	case "methanol":
		return Fuel{Name: "methanol", C: 1, H: 4, O: 1, Heat: 20.0e6, Evaporation: 1103e3, Evaporated: 0.3, Vapour: gas.Blend{{Species: gas.MethanolVapour, Amount: 1}}}, nil
	case "e85":
		return mixFuel("e85", ethanol, gasoline, 0.85*0.789, 0.15*0.745), nil
	}
	return Fuel{}, fmt.Errorf("%w %q: gasoline, e85, ethanol or methanol", ErrFuel, name)
}

// mixFuel mixes masses ma of a and mb of b.
func mixFuel(name string, a, b Fuel, ma, mb float64) Fuel {
	na, nb := ma/a.MolarMass(), mb/b.MolarMass()
	n, m := na+nb, ma+mb
	mole := func(x, y float64) float64 { return (na*x + nb*y) / n }
	mass := func(x, y float64) float64 { return (ma*x + mb*y) / m }
	return Fuel{
		Name: name, C: mole(a.C, b.C), H: mole(a.H, b.H), O: mole(a.O, b.O),
		Heat: mass(a.Heat, b.Heat), Evaporation: mass(a.Evaporation, b.Evaporation), Evaporated: mass(a.Evaporated, b.Evaporated),
		Vapour: gas.Blend{{Species: a.Vapour[0].Species, Amount: na / n}, {Species: b.Vapour[0].Species, Amount: nb / n}},
	}
}

// MolarMass returns the molar mass of the mean molecule [kg/mol].
func (f Fuel) MolarMass() float64 { return f.C*massC + f.H*massH + f.O*massO }

// oxygen returns the moles of O2 that burn one mole of fuel.
func (f Fuel) oxygen() float64 { return f.C + f.H/4 - f.O/2 }

// StoichiometricRatio returns the mass of dry air that just burns one mass of fuel, AFR_st [-].
//
//	AFR = (a + b/4 − c/2)·m_air(1 mol O2)/M_fuel
//
// Definition.
func (f Fuel) StoichiometricRatio() float64 { return f.oxygen() * airMassO2 / f.MolarMass() }

// A Charge is what a cylinder draws and burns: air, the air with its fuel, the burned gas, and the heat between them.
type Charge struct {
	Air     gas.Blend                  // moist air
	Fresh   gas.Blend                  // air and the fuel, all as vapour
	FreshR  float64                    // gas constant of the fresh charge when the share left liquid takes no room [J/(kg·K)]
	Burned  gas.Blend                  // burned gas, frozen composition
	Energy  func(temp float64) float64 // specific energy of the burned gas, dissociation within, counted from gas.RefTemp [J/kg]
	FuelAir float64                    // mass of fuel over mass of moist air [-]
	Heat    float64                    // heat set free at constant volume from fresh to frozen burned gas at 25 °C [J/kg of charge]
	Cooling float64                    // heat the evaporating share draws as the charge comes in [J/kg of fuel]
}

// Conditions at which the composition of the burned gas is frozen and its dissociation taken.
const (
	freezeTemp   = 1500.0 // below this the composition of the burned gas stays [K]
	burnPressure = 3.5e6  // pressure of the equilibrium [Pa]; burning happens at 2–7 MPa
)

// Charge returns the charge at air ratio lambda [-] (air over stoichiometric air) when the share evaporated [-] of the fuel
// evaporates before the valve closes, in air with water [-] moles of vapour to one of dry air.
//
// The heat set free is the lower heat of combustion less what the unburned CO and H2 of a rich mixture keep; the evaporation of
// the share still liquid is paid out of it. Errors: ErrFuel for an air ratio outside 0.6 to 2, or an error of package gas.
func (f Fuel) Charge(lambda, evaporated, water float64) (Charge, error) {
	if !(lambda >= 0.6 && lambda <= 2) {
		return Charge{}, fmt.Errorf("%w: air ratio %g, wanted 0.6 to 2", ErrFuel, lambda)
	}
	o2 := lambda * f.oxygen()
	wet := water * (1 + airN2 + airAr) * o2
	air := gas.Blend{{Species: gas.N2, Amount: airN2 * o2}, {Species: gas.O2, Amount: o2}, {Species: gas.Ar, Amount: airAr * o2}}
	if wet > 0 {
		air = air.Add(gas.H2O, wet)
	}
	fresh := air
	for _, p := range f.Vapour {
		fresh = fresh.Add(p.Species, p.Amount)
	}
	atoms := [4]float64{f.C, f.H + 2*wet, f.O + 2*o2 + wet, 2 * airN2 * o2}
	frozen, energy, err := gas.BurnedEnergy(atoms, airAr*o2, burnPressure, freezeTemp)
	if err != nil {
		return Charge{}, fmt.Errorf("burned gas of %s: %w", f.Name, err)
	}
	mass := air.Mass() + f.MolarMass()
	c := Charge{Air: air, Fresh: fresh, Burned: frozen, Energy: energy, FuelAir: f.MolarMass() / air.Mass()}
	c.FreshR = gas.MolarGasConstant * (air.Amount() + evaporated) / mass
	// What the rich products keep back: heats of combustion of CO and H2 [J/mol], from their heats of formation.
	var kept float64
	for _, p := range frozen {
		switch p.Species { //nolint:exhaustive // only what can still burn
		case gas.CO:
			kept += p.Amount * 282.98e3
		case gas.H2:
			kept += p.Amount * 241.83e3
		}
	}
	fuel := f.MolarMass() / mass
	vapourWork := gas.MolarGasConstant * gas.RefTemp / f.MolarMass() // what vapour spends on making room, of a kilogram of fuel
	c.Heat = fuel*(f.Heat+f.Evaporation) - kept/mass
	c.Heat += (frozen.Amount() - fresh.Amount()) * gas.MolarGasConstant * gas.RefTemp / mass
	c.Heat -= fuel * (f.Evaporation - vapourWork) * (1 - evaporated)
	c.Cooling = (f.Evaporation - vapourWork) * evaporated
	return c, nil
}
