package tract_test

import (
	"fmt"

	"runnel/passage"
	"runnel/tract"
)

// A manifold and a head flowed apart, and then together: which holds the flow back, and how much of the exit head is carried on.
func ExampleSeries_Solve() {
	const mm2 = 1e-6
	s := tract.Series{
		Pieces: []tract.Piece{
			{Name: "manifold", Area: 1430 * mm2, U: 0.006, Exit: 1700 * mm2},
			{Name: "head", Area: 1210 * mm2, U: 0.006, Entry: 1700 * mm2},
		},
		Assembled: 1010 * mm2, UAssembled: 0.006,
	}
	w, err := s.Solve()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("between %.0f and %.0f mm², carried on %.2f ± %.2f\n", w.Lower/mm2, w.Upper/mm2, w.Solved.Eta, w.Solved.U)
	fmt.Printf("%s holds back with %.0f %% of the drop\n", w.HoldsBack, 100*w.Shares[1].Drop)
	// Output:
	// between 924 and 1100 mm², carried on 0.55 ± 0.04
	// head holds back with 70 % of the drop
}

// A difference too small to speak: the head alone and the head with its manifold flow nearly the same.
func ExampleWithoutPiece() {
	r, err := tract.WithoutPiece(300, 0.01, 297, 0.01)
	fmt.Printf("%.0f, %s, %v\n", r.Area, r.Note, err)
	// Output: 2105, meaningless at ±1 %: an error of 1 % in the assembled reading changes the rest by 50 %, <nil>
}

func ExampleCase_Draw() {
	wide, err1 := passage.Round(0.048)
	narrow, err2 := passage.Round(0.040)
	if err1 != nil || err2 != nil {
		return
	}
	p, err := passage.New([]passage.Station{{Section: wide}, {Section: narrow, At: 0.25, Turn: 1.2}})
	if err != nil {
		fmt.Println(err)
		return
	}
	l, err := tract.Case{
		Passage:   p,
		Air:       tract.Air{Pressure: 101325, Temperature: 293.15, GasConstant: 287.05, Gamma: 1.4, Viscosity: 1.82e-5},
		Drop:      6974.5,
		Roughness: tract.Cast(),
	}.Draw()
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, x := range l.Losses {
		fmt.Printf("%-52s %4.1f %%\n", x.Name, 100*x.Share)
	}
	// Output:
	// entry: bare                                          16.2 %
	// wall friction, 0–250 mm, cast                         7.3 %
	// narrowing, 1810 to 1257 mm² over 250 mm               0.1 %
	// bend, 69° at 4.73 bores                               5.2 %
	// exit: velocity head lost                             71.3 %
}
