package meter_test

import (
	"fmt"

	"runnel/meter"
)

// A 60 mm plate in a 100 mm pipe at 2.5 kPa: the check values of testdata/iso5167_check_values.csv.
func ExampleOrifice_Flow() {
	up := meter.Upstream{Pressure: 101325, Temperature: 293.15, Density: 1.2041, Viscosity: 1.813e-5, Kappa: 1.4}
	plate := meter.Orifice{Throat: meter.Throat{Pipe: 0.1, Bore: 0.06, UPipe: 0.002, UBore: 0.0005}, Taps: meter.Corner}
	f, err := plate.Flow(up, 2500)
	fmt.Printf("%.5f kg/s, C %.5f, eps %.5f, %v\n", f.Mass, f.Coefficient, f.Expansibility, err)
	_, err = plate.Flow(up, -20)
	fmt.Println(err)
	// Output:
	// 0.14251 kg/s, C 0.61034, eps 0.99293, <nil>
	// meter pressure difference -20 Pa: want a number not below zero; swap the tappings or check the zero
}
