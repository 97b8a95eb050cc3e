package rig

import (
	"fmt"
	"math"

	"runnel/gas"
	"runnel/meter"
)

// The plate of the rig, corner tappings.
const (
	plateInPipe = 0.100 // inside diameter of the pipe [m]
	plateBore   = 0.060 // bore [m]
)

// flow returns the mass flow [kg/s] through an effective area [m²] and the leaks at a pressure drop dp [Pa].
func (r *Rig) flow(area, dp float64) float64 {
	if dp <= 0 {
		return 0
	}
	n := gas.Nozzle{
		Pressure: r.air.Pressure, Temperature: r.air.Temperature, Downstream: r.air.Pressure - dp,
		GasConstant: r.air.Compressibility * r.air.GasConstant, Gamma: r.air.Kappa,
	}
	return n.MassFlow(area) + r.air.Density*r.leakK*math.Pow(dp, leakExponent)
}

// difference returns the pressure difference of the plate [Pa] for a mass flow [kg/s], the piece dropping dp [Pa] before it.
// It is the fixed point of Δ ← Δ·(ṁ/ṁ(Δ))², which contracts because the coefficient hardly changes.
func (r *Rig) difference(mass, dp, guess float64) (float64, error) {
	if mass <= 0 {
		return 0, nil
	}
	p1 := r.air.Pressure - dp
	up := meter.Upstream{
		Pressure: p1, Temperature: r.air.Temperature, Density: r.air.Density * p1 / r.air.Pressure, Viscosity: r.air.Viscosity, Kappa: r.air.Kappa,
	}
	d := max(guess, 1e-6)
	for range 60 {
		f, err := r.plate.Flow(up, d)
		if err != nil {
			return 0, err
		}
		ratio := mass / (f.Mass * r.truth.PlateC)
		d *= ratio * ratio
		if math.Abs(ratio-1) < 1e-10 {
			return d, nil
		}
	}
	return 0, fmt.Errorf("the rig has no pressure difference of the plate for %.4g kg/s", mass)
}

// A balance is the rig at one instant.
type balance struct{ drop, diff, mass float64 }

// settle finds the drop across the piece at which the blower's rise is used up, by false position with the Illinois rule.
//
//	Δp + loss(plate) + (valve + slope)·Q² = shut·ω²
func (r *Rig) settle(area, speed, valve float64) (balance, error) {
	var b balance
	rise := blowerShut * speed * speed
	miss := func(dp float64) (float64, error) {
		mass := r.flow(area, dp)
		d, err := r.difference(mass, dp, max(r.diff, 1))
		if err != nil {
			return 0, err
		}
		b = balance{dp, d, mass}
		q := mass / r.air.Density
		return dp + d*meter.PressureLoss(r.plate.Beta(), 0.6) + (valve+blowerSlope)*q*q - rise, nil
	}
	lo, hi, flo := 0.0, rise, -rise
	if r.drop > 0 && r.drop < rise { // the last balance is near: bracket it closely
		for _, x := range []float64{0.97 * r.drop, min(1.03*r.drop, rise)} {
			f, err := miss(x)
			if err != nil {
				return b, err
			}
			if f < 0 && x > lo {
				lo, flo = x, f
			} else if f >= 0 && x < hi {
				hi = x
			}
		}
	}
	fhi, err := miss(hi)
	if err != nil {
		return b, err
	}
	side := 0
	for range 100 {
		x := (lo*fhi - hi*flo) / (fhi - flo)
		f, err := miss(x)
		if err != nil {
			return b, err
		}
		if math.Abs(f) < 1e-6*rise || hi-lo < 1e-9*rise {
			return b, nil
		}
		if f < 0 {
			lo, flo = x, f
			if side < 0 {
				fhi /= 2
			}
			side = -1
		} else {
			hi, fhi = x, f
			if side > 0 {
				flo /= 2
			}
			side = 1
		}
	}
	return b, fmt.Errorf("the rig does not settle on %.4g mm²", area*1e6)
}

// wantedValve returns the setting of the valve [ln Pa·s²/m⁶] at which the steady rig holds its test pressure.
func (r *Rig) wantedValve() (float64, error) {
	mass := r.flow(r.open(), r.target)
	d, err := r.difference(mass, r.target, max(r.diff, 1))
	if err != nil {
		return 0, err
	}
	q := mass / r.air.Density
	v := (blowerShut-r.target-d*meter.PressureLoss(r.plate.Beta(), 0.6))/(q*q) - blowerSlope
	if v <= 1 {
		return 0, fmt.Errorf("the blower of the rig cannot hold %.0f Pa on %.4g mm²: lower the test pressure or the area", r.target, r.open()*1e6)
	}
	return math.Log(v), nil
}

// set turns the valve to where it belongs at once and lets the blower be at speed.
func (r *Rig) set() error {
	v, err := r.wantedValve()
	if err != nil {
		return err
	}
	r.valve, r.speed = v, 1
	b, err := r.settle(r.open(), 1, math.Exp(v))
	r.drop, r.diff = b.drop, b.diff
	return err
}
