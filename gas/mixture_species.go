package gas

import "math"

// MolarGasConstant is the molar gas constant [J/(mol·K)], exact. Source: CODATA 2018.
const MolarGasConstant = 8.314462618

// A Species is one ideal gas of a Blend.
type Species int

// The species a working gas is made of.
const (
	N2 Species = iota
	O2
	Ar
	CO2
	H2O
	CO
	H2
	OH
	AtomH
	AtomO
	NO
	GasolineVapour
	EthanolVapour
	MethanolVapour
	speciesCount
)

// A thermo is the molar mass and the seven-coefficient polynomials of a species, below and above 1000 K:
//
//	cp/Ru = a1 + a2·T + a3·T² + a4·T³ + a5·T⁴
//	h/(Ru·T) = a1 + a2/2·T + a3/3·T² + a4/4·T³ + a5/5·T⁴ + a6/T
//	s/Ru = a1·ln T + a2·T + a3/2·T² + a4/3·T³ + a5/4·T⁴ + a7
type thermo struct {
	mass      float64 // molar mass [kg/mol]
	low, high [7]float64
}

// Source: GRI-Mech 3.0 thermodynamic data (Smith et al., 1999) for all but the fuels; compared digit by digit with
// public copies of that file. Ethanol: A. Burcat's data, from memory, checked against cp(298.15 K) = 65.6 J/(mol·K)
// (NIST WebBook, from memory). Gasoline vapour: J. B. Heywood, Internal Combustion Engine Fundamentals (1988), table 4.11,
// C8.26H15.5, from memory, cp only; see gasolineCp.
func thermoOf(s Species) thermo {
	switch s {
	case N2:
		return thermo{
			28.0134e-3,
			[7]float64{3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12, -1.0208999e3, 3.950372},
			[7]float64{2.92664, 1.4879768e-3, -5.68476e-7, 1.0097038e-10, -6.753351e-15, -9.227977e2, 5.980528},
		}
	case O2:
		return thermo{
			31.9988e-3,
			[7]float64{3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12, -1.06394356e3, 3.65767573},
			[7]float64{3.28253784, 1.48308754e-3, -7.57966669e-7, 2.09470555e-10, -2.16717794e-14, -1.08845772e3, 5.45323129},
		}
	case Ar:
		a := [7]float64{2.5, 0, 0, 0, 0, -745.375, 4.366}
		return thermo{39.948e-3, a, a}
	case CO2:
		return thermo{
			44.0095e-3,
			[7]float64{2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13, -4.83719697e4, 9.90105222},
			[7]float64{3.85746029, 4.41437026e-3, -2.21481404e-6, 5.23490188e-10, -4.72084164e-14, -4.8759166e4, 2.27163806},
		}
	case H2O:
		return thermo{
			18.01528e-3,
			[7]float64{4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12, -3.02937267e4, -0.849032208},
			[7]float64{3.03399249, 2.17691804e-3, -1.64072518e-7, -9.7041987e-11, 1.68200992e-14, -3.00042971e4, 4.9667701},
		}
	case CO:
		return thermo{
			28.0101e-3,
			[7]float64{3.57953347, -6.1035368e-4, 1.01681433e-6, 9.07005884e-10, -9.04424499e-13, -1.4344086e4, 3.50840928},
			[7]float64{2.71518561, 2.06252743e-3, -9.98825771e-7, 2.30053008e-10, -2.03647716e-14, -1.41518724e4, 7.81868772},
		}
	case H2:
		return thermo{
			2.01588e-3,
			[7]float64{2.34433112, 7.98052075e-3, -1.9478151e-5, 2.01572094e-8, -7.37611761e-12, -9.17935173e2, 0.683010238},
			[7]float64{3.3372792, -4.94024731e-5, 4.99456778e-7, -1.79566394e-10, 2.00255376e-14, -9.50158922e2, -3.20502331},
		}
	case OH, AtomH, AtomO, NO:
		return radicalOf(s)
	case EthanolVapour, MethanolVapour, GasolineVapour:
		return fuelVapourOf(s)
	case speciesCount:
	}
	panic("gas: no such species")
}

func radicalOf(s Species) thermo {
	switch s { //nolint:exhaustive // thermoOf sends only these
	case OH:
		return thermo{
			17.00734e-3,
			[7]float64{3.99201543, -2.40131752e-3, 4.61793841e-6, -3.88113333e-9, 1.3641147e-12, 3.61508056e3, -0.103925458},
			[7]float64{3.09288767, 5.48429716e-4, 1.26505228e-7, -8.79461556e-11, 1.17412376e-14, 3.858657e3, 4.4766961},
		}
	case AtomH:
		a := [7]float64{2.5, 0, 0, 0, 0, 2.54736599e4, -0.446682853}
		return thermo{1.00794e-3, a, a}
	case AtomO:
		return thermo{
			15.9994e-3,
			[7]float64{3.1682671, -3.27931884e-3, 6.64306396e-6, -6.12806624e-9, 2.11265971e-12, 2.91222592e4, 2.05193346},
			[7]float64{2.56942078, -8.59741137e-5, 4.19484589e-8, -1.00177799e-11, 1.22833691e-15, 2.92175791e4, 4.78433864},
		}
	default:
		return thermo{
			30.0061e-3,
			[7]float64{4.2184763, -4.638976e-3, 1.1041022e-5, -9.3361354e-9, 2.803577e-12, 9.844623e3, 2.2808464},
			[7]float64{3.2605605, 1.1911043e-3, -4.2917048e-7, 6.9457669e-11, -4.0336099e-15, 9.9209746e3, 6.3693027},
		}
	}
}

func fuelVapourOf(s Species) thermo {
	switch s { //nolint:exhaustive // thermoOf sends only these
	case EthanolVapour:
		return thermo{
			46.06844e-3,
			[7]float64{4.85868178, -3.7400674e-3, 6.95550267e-5, -8.86541147e-8, 3.5168443e-11, -2.99961309e4, 4.80192294},
			[7]float64{6.5628977, 1.52034264e-2, -5.38922247e-6, 8.62150224e-10, -5.12824683e-14, -3.15256787e4, -9.47553644},
		}
	case MethanolVapour:
		return thermo{
			32.04186e-3,
			[7]float64{5.71539582, -1.52309129e-2, 6.52441155e-5, -7.10806889e-8, 2.61352698e-11, -2.56427656e4, -1.50409823},
			[7]float64{1.78970791, 1.40938292e-2, -6.36500835e-6, 1.38171085e-9, -1.1706022e-13, -2.53748747e4, 14.5023623},
		}
	default:
		return thermo{mass: 8.26*12.0107e-3 + 15.5*1.00794e-3}
	}
}

// gasolineCp returns the molar heat capacity of gasoline vapour C8.26H15.5 [J/(mol·K)] at temp [K].
//
//	cp = 4.184·(A1 + A2·t + A3·t² + A4·t³ + A5/t²), t = T/1000
//
// Source: Heywood (1988) table 4.11, from memory; held constant above 1000 K, where no vapour is left.
func gasolineCp(temp float64) float64 {
	t := min(temp, 1000) / 1000
	return 4.184 * (-24.078 + 256.63*t - 201.68*t*t + 64.75*t*t*t + 0.5808/(t*t))
}

// gasolineH is the integral of gasolineCp from RefTemp [J/mol].
func gasolineH(temp float64) float64 {
	prim := func(temp float64) float64 {
		t := temp / 1000
		return 4184 * (-24.078*t + 256.63/2*t*t - 201.68/3*t*t*t + 64.75/4*t*t*t*t - 0.5808/t)
	}
	if temp > 1000 {
		return prim(1000) - prim(RefTemp) + gasolineCp(1000)*(temp-1000)
	}
	return prim(temp) - prim(RefTemp)
}

// MolarMass returns the molar mass M [kg/mol].
func (s Species) MolarMass() float64 { return thermoOf(s).mass }

// HeatCapacity returns the molar heat capacity at constant pressure cp [J/(mol·K)] at temperature temp [K], valid
// from 200 to 3500 K. Source: see thermoOf.
func (s Species) HeatCapacity(temp float64) float64 {
	if s == GasolineVapour {
		return gasolineCp(temp)
	}
	a := thermoOf(s).at(temp)
	return MolarGasConstant * (a[0] + temp*(a[1]+temp*(a[2]+temp*(a[3]+temp*a[4]))))
}

// Enthalpy returns the molar enthalpy h [J/mol] at temperature temp [K], its heat of formation at RefTemp within;
// gasoline vapour counts from RefTemp. Valid from 200 to 3500 K. Source: see thermoOf.
func (s Species) Enthalpy(temp float64) float64 {
	if s == GasolineVapour {
		return gasolineH(temp)
	}
	a := thermoOf(s).at(temp)
	return MolarGasConstant * (temp*(a[0]+temp*(a[1]/2+temp*(a[2]/3+temp*(a[3]/4+temp*a[4]/5)))) + a[5])
}

// gibbs returns the standard molar Gibbs energy over Ru·T [-] at temp [K] and 1 atm.
func (s Species) gibbs(temp float64) float64 {
	a := thermoOf(s).at(temp)
	h := a[0] + temp*(a[1]/2+temp*(a[2]/3+temp*(a[3]/4+temp*a[4]/5))) + a[5]/temp
	e := a[0]*math.Log(temp) + temp*(a[1]+temp*(a[2]/2+temp*(a[3]/3+temp*a[4]/4))) + a[6]
	return h - e
}

func (t thermo) at(temp float64) *[7]float64 {
	if temp < 1000 {
		return &t.low
	}
	return &t.high
}
