package main

import (
	"fmt"
	"strings"

	"runnel/job"
)

// A gauged section is what the ball gauge and the calipers said there [mm]: width in the plane of the bend and height across it, the same
// where the tube is still round; 0 where nobody measured.
type gauged struct{ width, height float64 }

func ball(d float64) gauged { return gauged{d, d} }

// sections is what was measured along two runners, with a ball gauge, inside calipers and an ultrasonic thickness gauge: as received, the
// good runner 1, and runner 4 with the bead that the weld left in it before the flange; and both finished, the wall read anew. The tube was
// bent without a mandrel, so it is flattened in its bends and thin on their outside.
func sections() map[string]job.SectionFile {
	at := []float64{0, 20, 45, 75, 98, 120, 142, 170, 200, 230, 252, 274, 300, 302, 306, 308, 320}         // along the centreline [mm]
	bend := []float64{0, 0, 0, 0, 28, 31, 27, 0, 0, 0, 20, 18, 0, 0, 0, 0, 0}                              // turn since the station before [°]
	wall := []float64{4.1, 4, 3.8, 3.6, 3.2, 3.1, 3.2, 3.5, 3.6, 3.6, 3.3, 3.3, 3.6, 5.9, 5.8, 3.6, 3.6}   // [mm]
	thin := []float64{3.5, 3.5, 3.4, 3.2, 2.8, 2.6, 2.7, 3.1, 3.3, 3.2, 2.8, 2.8, 3.1, 3.2, 3.2, 3.2, 3.4} // finished [mm]
	write := func(runner, state string, seen []gauged, wall []float64) job.SectionFile {                   // as the shop would type it
		var b strings.Builder
		b.WriteString(traceHeader + "# Runner " + runner + " " + state + ".\ns_mm,shape,diameter_mm,width_mm,height_mm,wall_mm,bend_deg\n")
		for i, g := range seen {
			switch g.width {
			case 0:
			case g.height:
				fmt.Fprintf(&b, "%g,round,%g,,,%g,%g\n", at[i], g.width, wall[i], bend[i])
			default:
				fmt.Fprintf(&b, "%g,ellipse,,%g,%g,%g,%g\n", at[i], g.width, g.height, wall[i], bend[i])
			}
		}
		return job.SectionFile{Text: b.String()}
	}
	return map[string]job.SectionFile{ // the state of another round lies beside that of the first, with the name of the round
		"sections/runner-1.csv": write("1", "as received", []gauged{
			ball(52), ball(47.8), ball(44.4), ball(42.4),
			{38.6, 42.4},
			{37.6, 42.2},
			{38.2, 41.8},
			ball(40.2), ball(40), ball(39.8),
			{38.4, 41.2},
			{38.6, 41},
			ball(39.8),
			{},
			{},
			ball(39.9), ball(41),
		}, wall),
		"sections/runner-4.csv": write("4", "as received", []gauged{
			ball(52), ball(47.7), ball(44.3), ball(42.3),
			{38.4, 42.3},
			{37.4, 42},
			{38, 41.6},
			ball(40), ball(39.9), ball(39.7),
			{38.1, 41.1},
			{38.2, 40.8},
			ball(39.4), ball(35.2), ball(35.4), ball(40), ball(40.9),
		}, wall),
		"sections/runner-1.finished.csv": write("1", "finished", []gauged{
			ball(53.2), ball(48.8), ball(45.4), ball(43.2),
			{39.6, 43},
			{38.8, 42.8},
			{39.3, 42.4},
			ball(40.9), ball(40.7), ball(40.6),
			{39.4, 41.8},
			{39.6, 41.6},
			ball(40.7),
			{},
			{},
			ball(40.9), ball(41.4),
		}, thin),
		"sections/runner-4.finished.csv": write("4", "finished", []gauged{
			ball(53.1), ball(48.7), ball(45.3), ball(43.1),
			{39.5, 42.9},
			{38.6, 42.7},
			{39.1, 42.3},
			ball(40.8), ball(40.6), ball(40.5),
			{39.2, 41.8},
			{39.4, 41.5},
			ball(40.4), ball(40.4), ball(40.5), ball(40.8), ball(41.3),
		}, thin),
	}
}
