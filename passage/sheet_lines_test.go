package passage

import (
	"strings"
	"testing"
)

// Lines as spreadsheets end them, and a first line that is none of names.
func TestLinesOfASheet(t *testing.T) {
	const stations = "s_mm,shape,diameter_mm\n0,round,52\n40,round,48\n"
	for name, end := range map[string]string{"line feed": "\n", "both": "\r\n", "carriage return": "\r"} {
		got, err := ReadStations(strings.NewReader(strings.ReplaceAll(stations, "\n", end)), "s.csv")
		if err != nil || len(got) != 2 {
			t.Errorf("%s: %d stations, %v", name, len(got), err)
		}
	}
	for text, want := range map[string]string{
		"0,round,52\n40,round,48\n":                            `s.csv:1: the first line holds numbers, not the names of the columns: write a line of names above it like "s_mm,shape"`,
		"s_mm,shape,diameter_mm,\n0,round,52,\n40,round,48,\n": `s.csv:1:4: the column has no name: name it, or take its comma away from every line`,
	} {
		if _, err := ReadStations(strings.NewReader(text), "s.csv"); err == nil || err.Error() != want {
			t.Errorf("%q: %v, want %s", text, err, want)
		}
	}
}
