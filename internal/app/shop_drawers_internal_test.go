package app

import (
	"os"
	"slices"
	"testing"
	"time"

	"runnel/internal/fault"
)

// A check that somebody puts away while the drawer is read is missing from the list, and does not spoil it.
func TestADrawerReadWhileACheckIsPutAway(t *testing.T) {
	a := &App{shop: t.TempDir()}
	if err := os.MkdirAll(a.inDrawer(Studies, awayDir), 0o755); err != nil { //nolint:gosec // as the shop's own folders
		t.Fatal(err)
	}
	for _, name := range []string{"2026-01-01-a.csv", "2026-01-02-b.csv", "2026-01-03-c.csv"} {
		if err := os.WriteFile(a.inDrawer(Studies, name), []byte("piece"), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	read := func(name string) (KeptCheck[string], error) {
		if name == "2026-01-02-b.csv" {
			if err := os.Rename(a.inDrawer(Studies, name), a.inDrawer(Studies, awayDir, name)); err != nil {
				t.Fatal(err)
			}
		}
		return keptCheck(a, Studies, name, func(text string) (string, error) { return text, nil })
	}
	got, err := keptOf(a, Studies, read, func(k KeptCheck[string]) time.Time { return k.Day })
	var names []string
	for _, k := range got {
		names = append(names, k.Name)
	}
	if err != nil || !slices.Equal(names, []string{"2026-01-03-c.csv", "2026-01-01-a.csv"}) {
		t.Errorf("%q, %v", names, err)
	}
	if _, err := read("2026-01-04-d.csv"); fault.KindOf(err) != fault.NotFound {
		t.Errorf("a check that is not there: %v", err)
	}
}
