package meter_test

import (
	"testing"

	"runnel/internal/tabletest"
	"runnel/meter"
)

// Source: testdata/nozzle_venturi_iso5167.csv, the library fluids 1.0.22 and an own program of ISO 5167-3 and -4;
// tolerance of its header.
func TestNozzleAndVenturiCAgainstReference(t *testing.T) {
	seen := map[string]int{}
	for _, r := range tabletest.Read(t, "testdata/nozzle_venturi_iso5167.csv", 60) {
		var got float64
		switch r["device"] {
		case "venturi_as_cast", "venturi_machined", "venturi_rough_welded":
			got = meter.VenturiC(map[string]meter.Make{
				"venturi_as_cast": meter.AsCast, "venturi_machined": meter.Machined, "venturi_rough_welded": meter.RoughWelded,
			}[r["device"]])
		case "isa1932":
			got = meter.NozzleC(meter.ISA1932, r.Num(t, "beta"), r.Num(t, "Re_D"))
		case "longradius":
			got = meter.NozzleC(meter.LongRadius, r.Num(t, "beta"), r.Num(t, "Re_D"))
		case "venturi_nozzle":
			got = meter.NozzleC(meter.VenturiNozzle, r.Num(t, "beta"), r.Num(t, "Re_D"))
		default:
			t.Fatalf("unknown device %q", r["device"])
		}
		seen[r["device"]]++
		near(t, "id "+r["id"]+" "+r["device"]+" C", got, r.Num(t, "C"), 1e-9, 0)
	}
	if len(seen) != 6 {
		t.Errorf("devices seen: %v, want six", seen)
	}
}
