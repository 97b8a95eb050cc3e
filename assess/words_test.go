package assess

import "testing"

// What is one reading's own of a mark is parted from it; brackets that are not are left where they stand.
func TestStem(t *testing.T) {
	for text, want := range map[string][2]string{
		"air record at most 60 min from the reading (got 510)": {"air record at most 60 min from the reading", " (got 510)"},
		"no steady part was found (3 of 36 readings)":          {"no steady part was found", " (3 of 36 readings)"},
		"ISO 5167-2:2003 (corner taps): D ≥ 50 mm (got 40)":    {"ISO 5167-2:2003 (corner taps): D ≥ 50 mm", " (got 40)"},
		"the plate was dirty (again)":                          {"the plate was dirty (again)", ""},
		"":                                                     {"", ""},
	} {
		if stem, own := Stem(text); stem != want[0] || own != want[1] {
			t.Errorf("%q: %q and %q", text, stem, own)
		}
	}
}
