package passage_test

import (
	"fmt"
	"strings"

	"runnel/passage"
)

// Every problem of a file is told at once, each with its place and what to write.
func ExampleReadStations() {
	_, err := passage.ReadStations(strings.NewReader(`s_mm,shape,diameter_mm,width
0,round,52,
40,square,50,
30,round,"48,5",
`), "sections/r1.csv")
	fmt.Println(err)

	st, err := passage.ReadStations(strings.NewReader("s_mm,shape,diameter_in\n0,round,2\n250,round,1.8\n"), "sections/r1.csv")
	if err != nil {
		fmt.Println(err)
		return
	}
	p, err := passage.New(st)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.0f mm long, %.1f cm³\n", 1e3*p.Length(), 1e6*p.Volume())
	// Output:
	// sections/r1.csv:1:4: column "width": no unit at its end: write it like "width_mm"
	// 250 mm long, 457.7 cm³
}

func ExampleSuspectUnit() {
	_, certain, ask := passage.SuspectUnit(9.2, "mm")
	fmt.Println(certain, ask)
	// Output: false in mm the mesh is 9.2 mm across its box; in inches it would be 233.7 mm: is it in inches?
}
