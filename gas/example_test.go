package gas_test

import (
	"fmt"

	"runnel/gas"
)

// Air of 20 °C, dry and at 50 % humidity: the rows of testdata/moist_air.csv. Tables for a perfect gas say 1.2041 and 1.1988,
// which is Z times as much.
func ExampleMoistAir_Properties() {
	for _, h := range []float64{0, 0.5} {
		a, err := gas.MoistAir{Pressure: 101325, Temperature: 293.15, Humidity: h, CO2: gas.StandardCO2}.Properties()
		fmt.Printf("%.4f kg/m³, Z %.4f, %v\n", a.Density, a.Compressibility, err)
	}
	_, err := gas.MoistAir{Pressure: 101325, Temperature: 293.15, Humidity: 1.4}.Properties()
	fmt.Println(err)
	// Output:
	// 1.2046 kg/m³, Z 0.9996, <nil>
	// 1.1993 kg/m³, Z 0.9996, <nil>
	// relative humidity 1.4: want 0 to 1, that is 0 % to 100 %
}
