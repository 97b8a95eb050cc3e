package unit

// Conversion factors to SI.
const (
	Inch     = 0.0254                        // [m/in] exact: NIST SP 811 (2008), B.8
	Foot     = 0.3048                        // [m/ft] exact: NIST SP 811 (2008), B.8
	Pound    = 0.45359237                    // [kg/lb] exact: NIST SP 811 (2008), B.8
	InH2O    = 249.088_91                    // [Pa/inH2O] conventional: NIST SP 811 (2008), B.8
	MmH2O    = 9.806_65                      // [Pa/mmH2O] conventional: NIST SP 811 (2008), B.8
	InHg     = 3386.389                      // [Pa/inHg] conventional: NIST SP 811 (2008), B.8
	PSI      = 6894.757_293_168_361          // [Pa/psi] from lbf and in: NIST SP 811 (2008), B.8
	CFM      = 0.3048 * 0.3048 * 0.3048 / 60 // [m³/s per ft³/min] exact, from 1 ft = 0.3048 m
	HP       = 745.699_871_582_270_2         // [W/hp] mechanical, 550 ft·lbf/s: NIST SP 811 (2008), B.8
	PS       = 735.498_75                    // [W/PS] metric horsepower, 75 kgf·m/s: NIST SP 811 (2008), B.8
	PoundFt  = 1.355_817_948_331_400_4       // [N·m per lbf·ft]: NIST SP 811 (2008), B.8
	ZeroCelc = 273.15                        // [K] 0 °C: SI Brochure, 9th ed., 2.3.1
)
