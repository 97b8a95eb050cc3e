package main

import (
	"fmt"
	"strings"

	"runnel/job"
)

// sections is what was measured along two runners, with a ball gauge and an ultrasonic thickness gauge: as received, the good
// runner 1, and runner 4 with the step that the weld left in it; and both finished, the wall read anew.
func sections() map[string]job.SectionFile {
	at := []float64{0, 40, 90, 150, 210, 265, 320}                              // along the centreline [mm]
	bend := []float64{0, 0, 12, 18, 14, 0, 0}                                   // turn since the station before [°]
	wall := []float64{4.1, 3.8, 3.6, 3.4, 3.3, 3.2, 3.5}                        // [mm]
	thin := []float64{3.5, 3.4, 3.2, 3, 2.9, 2.9, 3.3}                          // finished [mm]
	write := func(runner, state string, bore, wall []float64) job.SectionFile { // as the shop would type it
		var b strings.Builder
		b.WriteString(traceHeader + "# Runner " + runner + " " + state + ".\ns_mm,shape,diameter_mm,wall_mm,bend_deg\n")
		for i := range at {
			fmt.Fprintf(&b, "%g,round,%g,%g,%g\n", at[i], bore[i], wall[i], bend[i])
		}
		return job.SectionFile{Text: b.String()}
	}
	return map[string]job.SectionFile{ // the state of another round lies beside that of the first, with the name of the round
		"sections/runner-1.csv":          write("1", "as received", []float64{52, 49.6, 47.2, 45, 43.2, 41.8, 41}, wall),
		"sections/runner-4.csv":          write("4", "as received", []float64{52, 49.4, 47.1, 45.1, 42.9, 39.9, 40.9}, wall),
		"sections/runner-1.finished.csv": write("1", "finished", []float64{53.2, 50.4, 48, 45.8, 44, 42.4, 41.4}, thin),
		"sections/runner-4.finished.csv": write("4", "finished", []float64{53.1, 50.2, 47.9, 45.7, 43.8, 41.5, 41.3}, thin),
	}
}
