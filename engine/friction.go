package engine

// A FrictionModel is a correlation for the mean effective pressure lost to friction.
type FrictionModel int

// The friction correlations.
const (
	ChenFlynn FrictionModel = iota
	Patton
)

// A ChenFlynnFit is the constants of the Chen–Flynn correlation.
type ChenFlynnFit struct {
	A float64 // constant part [Pa]
	B float64 // on peak cylinder pressure [-]
	C float64 // on mean piston speed [Pa·s/m]
	D float64 // on its square [Pa·s²/m²]
}

// DefaultChenFlynn returns the constants usual for spark-ignition engines: 0.4 bar, 0.005, 0.09 bar·s/m, 9e−4 bar·s²/m².
// Source: common practice, from memory.
func DefaultChenFlynn() ChenFlynnFit {
	return ChenFlynnFit{A: 0.4e5, B: 0.005, C: 0.09e5, D: 9e-4 * 1e5}
}

// Pressure returns the friction mean effective pressure FMEP [Pa] for peak cylinder pressure peak [Pa] and mean piston
// speed sp [m/s].
//
//	FMEP = A + B·p_max + C·S̄p + D·S̄p²
//
// Source: Chen & Flynn, SAE 650733 (1965), with the quadratic term of later practice.
func (f ChenFlynnFit) Pressure(peak, sp float64) float64 {
	return f.A + f.B*peak + f.C*sp + f.D*sp*sp
}

// A PattonBuild is what the Patton–Nitschke–Heywood correlation asks of an engine. Zero fields take proportions of the
// bore that are usual for in-line engines (common practice, no source); see FillPatton.
type PattonBuild struct {
	Bore             float64 // [m]
	Stroke           float64 // [m]
	Cylinders        int     // number of cylinders
	CompressionRatio float64 // [-]
	MainBore         float64 // main bearing diameter [m]
	MainLength       float64 // main bearing length [m]
	Mains            int     // number of main bearings
	PinBore          float64 // connecting-rod bearing diameter [m]
	PinLength        float64 // connecting-rod bearing length [m]
	Cams             float64 // number of camshaft bearings over cylinders, unused at 0 [-]
}

// FillPatton returns the build with its zero fields set to usual proportions: main bearings 0.65·B by 0.25·B,
// one more than cylinders; rod bearings 0.55·B by 0.25·B.
func FillPatton(b PattonBuild) PattonBuild {
	set := func(v *float64, d float64) {
		if *v == 0 {
			*v = d
		}
	}
	set(&b.MainBore, 0.65*b.Bore)
	set(&b.MainLength, 0.25*b.Bore)
	set(&b.PinBore, 0.55*b.Bore)
	set(&b.PinLength, 0.25*b.Bore)
	if b.Mains == 0 {
		b.Mains = b.Cylinders + 1
	}
	return b
}

// Pressure returns the friction mean effective pressure FMEP [Pa] at engine speed n [rev/s] with intake over
// atmospheric pressure pr [-].
//
//	crank        1.22e5·D_b/(B²·S·n_c) + 3.03e−4·N·D_b³·L_b·n_b/(B²·S·n_c) + 1.35e−10·D_b²·N²·n_b/n_c
//	reciprocating 294·S̄p/B + 4.06e4·(1 + 1000/N)/B² + 3.03e−4·N·D_r³·L_r/(B²·S)
//	              + 6.89·pr·(0.088·r_c + 0.182·r_c^(1.33 − 0.0238·S̄p))
//	auxiliaries  6.23 + 5.22e−3·N − 1.79e−7·N²
//
// in kPa with mm and rev/min. The valve train is left out: its terms depend on a design the card does not hold; 0.25 bar
// falling with speed stands for it (0.9–0.4 of 0.25, typical, no source).
// Source: Patton, Nitschke & Heywood, SAE 890836 (1989), coefficients from memory.
func (b PattonBuild) Pressure(n, pr float64) float64 {
	rpm := max(n*60, 300)
	bore, stroke := b.Bore*1e3, b.Stroke*1e3
	db, lb, dr, lr := b.MainBore*1e3, b.MainLength*1e3, b.PinBore*1e3, b.PinLength*1e3
	nc, nb := float64(b.Cylinders), float64(b.Mains)
	sp := 2 * b.Stroke * n
	crank := 1.22e5*db/(bore*bore*stroke*nc) + 3.03e-4*rpm*db*db*db*lb*nb/(bore*bore*stroke*nc) + 1.35e-10*db*db*rpm*rpm*nb/nc
	recip := 294*sp/bore + 4.06e4*(1+1000/rpm)/(bore*bore) + 3.03e-4*rpm*dr*dr*dr*lr/(bore*bore*stroke)
	gas := 6.89 * pr * (0.088*b.CompressionRatio + 0.182*pow(b.CompressionRatio, 1.33-0.0238*sp))
	aux := 6.23 + 5.22e-3*rpm - 1.79e-7*rpm*rpm
	train := 25 * (0.9 - 0.5*min(rpm/7000, 1))
	return 1e3 * (crank + recip + gas + aux + train)
}
