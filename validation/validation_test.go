package validation_test

import (
	"os"
	"strings"
	"testing"

	"runnel/validation"
)

// Every case passes, or misses as its README says it does. RUNNEL_FULL=1 makes the full run.
func TestCases(t *testing.T) {
	full := os.Getenv("RUNNEL_FULL") == "1"
	for _, name := range validation.Names() {
		t.Run(name, func(t *testing.T) {
			c, err := validation.RunCase(t.Context(), name, full)
			if err != nil {
				t.Fatal(err)
			}
			for _, r := range c.Rows {
				switch {
				case r.Pass:
					t.Logf("%s: off by %.2g of %.2g allowed (%d values)", r.Quantity, r.Deviation, r.Tolerance, r.Points)
				case r.Known != "":
					t.Logf("%s: MISSES as it is known to: off by %+.3g, %.3g allowed", r.Quantity, r.Deviation, r.Tolerance)
				default:
					t.Errorf("%s: %.10g, outside %.10g: off by %+.3g, %.3g allowed (%s)", r.Quantity, r.Value, r.Outside, r.Deviation, r.Tolerance, r.Reason)
				}
			}
		})
	}
}

// docs/validation.md is generated; every case and every check of the full run stands in it, so that it is not left behind. The
// full run is what rewrites it.
func TestPageIsNotLeftBehind(t *testing.T) {
	if os.Getenv("RUNNEL_FULL") == "1" {
		t.Skip("the page is about to be rewritten")
	}
	text, err := os.ReadFile("../docs/validation.md")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range validation.Names() {
		if !strings.Contains(string(text), "`validation/"+name+"`") {
			t.Errorf("case %s is not in docs/validation.md: run make validate", name)
		}
	}
	for _, c := range validation.FullChecks() {
		if !strings.Contains(string(text), "| "+c+" |") {
			t.Errorf("check %q is not in docs/validation.md: run make validate", c)
		}
	}
}
