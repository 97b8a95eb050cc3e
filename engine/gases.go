package engine

import (
	"fmt"

	"runnel/gas"
	"runnel/wave"
)

// gases is the working gas of an engine in its two forms: air and burned gas in the pipes, charge and burned gas in the cylinders.
type gases struct {
	pipe, chamber *wave.Gas
	fuelAir       float64 // mass of fuel over mass of air [-]
	fuelH         float64 // energy that comes with the fuel of one kilogram of air [J/kg]
	heat          float64 // set free by one kilogram of charge, with the change of the energies' zero [J/kg]
}

func component(b gas.Blend) wave.Component {
	return wave.Component{R: b.GasConstant(), Cp: b.HeatCapacity}
}

func (e *Engine) gases() (*gases, error) {
	if e.Gamma > 0 {
		g := wave.ConstantGas(e.Gamma, e.Constant)
		return &gases{pipe: g, chamber: g}, nil
	}
	ch, err := e.Fuel.Charge(e.Lambda, e.Evaporate, e.Air.Water)
	if err != nil {
		return nil, err
	}
	rb := ch.Burned.GasConstant()
	burned := wave.Component{R: rb, Cp: func(t float64) float64 {
		const h = 25
		return (ch.Energy(t+h)-ch.Energy(t-h))/(2*h) + rb
	}}
	pipe, err := wave.NewGas(component(ch.Air), burned)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEngine, err)
	}
	if e.Motored {
		return &gases{pipe: pipe, chamber: pipe}, nil
	}
	vapourR := ch.Fresh.GasConstant()
	fresh := wave.Component{R: ch.FreshR, Cp: func(t float64) float64 { return ch.Fresh.HeatCapacity(t) - vapourR + ch.FreshR }}
	chamber, err := wave.NewGas(fresh, burned)
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrEngine, err)
	}
	f := ch.FuelAir
	t := e.Air.Temperature
	g := &gases{pipe: pipe, chamber: chamber, fuelAir: f}
	g.fuelH = (1+f)*chamber.Energy(t, 0) - pipe.Energy(t, 0) - f*ch.Cooling*(1-e.FromWalls)
	g.heat = ch.Heat*e.Burn.Complete + chamber.Energy(gas.RefTemp, 1) - chamber.Energy(gas.RefTemp, 0)
	return g, nil
}
