package job_test

import (
	"strings"
	"testing"

	"runnel/job"
)

// What is written in a file of pieces must never be taken for what is usual in silence: a 0 is refused at its place.
func TestSeriesFileZeros(t *testing.T) {
	const piece = "[[pieces]]\nname = \"body\"\nflow = \"500 cfm\"\n"
	for _, tt := range []struct{ text, at, want string }{
		{piece + "feeds = 0\n", "tract.toml:4:", `piece "body" feeds 0 openings`},
		{piece + "feeds = -2\n", "tract.toml:4:", `piece "body" feeds -2 openings`},
		{"test_pressure = \"0 inH2O\"\n" + piece, "tract.toml:1:", "test_pressure of 0 would count as not given"},
		{"pressure = \"0 hPa\"\n" + piece, "tract.toml:1:", "pressure of 0 would count as not given"},
		{piece + "[assembled]\nu = \"1 %\"\n", "tract.toml:4:", "neither a flow nor an effective area"},
	} {
		_, err := job.ReadSeries("tract.toml", []byte(tt.text))
		if err == nil || !strings.HasPrefix(err.Error(), tt.at) || !strings.Contains(err.Error(), tt.want) {
			t.Errorf("%q: %v, want at %s %s", tt.text, err, tt.at, tt.want)
		}
	}
	f, err := job.ReadSeries("tract.toml", []byte(piece+"feeds = 6\n"))
	if err != nil || f.Pieces[0].Feeds != 6 || f.TestPressure < 6900 {
		t.Errorf("a whole file: %+v, %v", f, err)
	}
}
