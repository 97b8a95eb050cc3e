package main

import (
	"fmt"
	"strings"

	"runnel/job"
)

// sections is what was measured along two runners as received, with a ball gauge and an ultrasonic thickness gauge: the good
// runner 1, and runner 4 with the step that the weld left in it.
func sections() map[string]job.SectionFile {
	at := []float64{0, 40, 90, 150, 210, 265, 320}                 // along the centreline [mm]
	bore := []float64{52, 49.6, 47.2, 45, 43.2, 41.8, 41}          // [mm]
	wall := []float64{4.1, 3.8, 3.6, 3.4, 3.3, 3.2, 3.5}           // [mm]
	bend := []float64{0, 0, 12, 18, 14, 0, 0}                      // turn since the station before [°]
	stepped := []float64{52, 49.4, 47.1, 45.1, 42.9, 39.9, 40.9}   // [mm]
	write := func(runner string, bore []float64) job.SectionFile { // as the shop would type it
		var b strings.Builder
		b.WriteString(traceHeader + "# Runner " + runner + " as received.\ns_mm,shape,diameter_mm,wall_mm,bend_deg\n")
		for i := range at {
			fmt.Fprintf(&b, "%g,round,%g,%g,%g\n", at[i], bore[i], wall[i], bend[i])
		}
		return job.SectionFile{Text: b.String()}
	}
	return map[string]job.SectionFile{"sections/runner-1.csv": write("1", bore), "sections/runner-4.csv": write("4", stepped)}
}
