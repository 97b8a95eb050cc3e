// Package engine predicts torque and power over speed of a described engine: the pull.
//
// The parts that need no gas dynamics come first: the slider-crank, cam lift, valve area, burning, heat to the walls, friction,
// fuel, and the closed-form guides. They are joined to the pipes of package wave by cylinders, and run until cycles repeat.
//
// Angles are crank angles in radians. In a cycle, θ = 0 is gas-exchange top dead centre and θ = 2π firing top dead centre.
// Forced induction is out of scope.
package engine
