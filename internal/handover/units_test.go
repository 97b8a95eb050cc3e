package handover_test

import (
	"strings"
	"testing"

	"runnel/assess"
	"runnel/internal/handover"
	"runnel/unit"
)

// The sentences that come with the figures follow the units of the handover, as its own sentences do; 25.4 mm is an inch.
func TestSentencesFollowTheUnits(t *testing.T) {
	j, a := fixtureJob(), fixture()
	cases()["a dynamometer run"](&j, &a)
	const say = "made up: 25.4 mm"
	a.Warnings, a.Readings[3].Refused, a.Sittings[1].Marks, a.Match[0].Note = []string{say + " 1"}, say+" 2", []string{say + " 3"}, say+" 4"
	a.Verdicts[0].Marks, a.Verdicts[0].Bridged, a.Verdicts[0].Cancelled = []string{say + " 5"}, []string{say + " 6"}, []string{say + " 7"}
	a.Restriction[0].Note, a.Pull.Assumed, a.Pull.Dyno.Note = say+" 8", []string{say + " 9"}, say+" 10"
	a.Readings[0].Warnings = []string{"limit X near 6974 Pa [Pa] (got 6227)", "limit of a standard: 50 mm (got 40)"}
	a.Pull.Guides = []assess.Guide{{Name: "air", Value: 0.2, Unit: "kg/s", Note: say + " 11"}}
	a.Pull.Closures = []assess.Closure{{State: "after", Opening: "intake at 25.4 mm", Measured: 6.4516e-4, Simulated: 6.4516e-4, Ratio: 1}}
	us := bare(textOf(t, page(t, build(t, j, a, handover.Options{System: unit.US}))))
	if i := strings.Index(us, bare("25.4 mm")); i >= 0 {
		t.Errorf("a handover in inches says …%s", us[max(0, i-60):i+20])
	}
	for _, want := range []string{
		"1.000 in 1", "1.000 in 2", "1.000 in 3", "1.000 in 4", "1.000 in 5", "1.000 in 6", "1.000 in 7", "1.000 in 8", "1.000 in 9", "1.000 in 10", "1.000 in 11",
		"Limit X near 28.00 inH2O (got 25.00 inH2O).", "50 mm (got 40)", // a standard is quoted in its own unit
		"air of 29.92 inHg, 68.0 °F", "intake at 1.000 in: 1.000 in² corrected reading, 1.000 in² in the model",
		"26.455 lb/min", // 0.2 kg/s by 0.45359237 kg/lb
	} {
		if !strings.Contains(us, bare(want)) {
			t.Errorf("a handover in inches does not say %q", want)
		}
	}
	if metric := bare(textOf(t, page(t, build(t, j, a, handover.Options{})))); !strings.Contains(metric, bare("Made up: 25.4 mm 1.")) {
		t.Error("a metric handover does not say it in millimetres")
	}
}

// How far the spread of the openings may be off stands by it in the words, below the picture and in the table: read 2.0, true 0.8 to 3.2 %.
func TestTheTrueSpreadIsTold(t *testing.T) {
	text := bare(textOf(t, page(t, build(t, fixtureJob(), fixture(), handover.Options{}))))
	for _, want := range []string{
		"within 2.0 % of one another, largest against smallest (true spread 0.8 to 3.2 %), where it was 6.0 %",
		"Spread, largest less smallest, with the range that holds the true one at 95 %: as received 6.0 %, true spread 4.8 to 7.2 %; roughed 3.0 %, true spread 1.8 to 4.2 %; finished 2.0 %, true spread 0.8 to 3.2 %.",
		"2.0 0.8 to 3.2 % 0.67",
	} {
		if !strings.Contains(text, bare(want)) {
			t.Errorf("the handover does not say %q", want)
		}
	}
}
