package assess

import (
	"fmt"
	"math"
	"strings"
)

// Differs says how far an opening stands from the others, odd or not: "differs by +0.88 ± 0.21 % from the others". The
// interval is that of 95 % by the scatter of repeats; without any it is left out.
func (o MatchOpening) Differs() string {
	half := ""
	if o.ApartHalf > 0 {
		half = fmt.Sprintf(" ± %.2f", 100*o.ApartHalf)
	}
	by := strings.ReplaceAll(fmt.Sprintf("%+.2f", 100*o.Apart), "-", "−")
	return "differs by " + by + half + " % from the others"
}

// SpreadRange says in per cent where the spread truly lies: "2.4 to 3.8 %". The range holds it with 95 % and more, openings that were
// not flowed counted in; where it is not known nothing is said.
func (m Match) SpreadRange(decimals int) string {
	least := fmt.Sprintf("%.*f", decimals, 100*m.SpreadLo)
	switch {
	case m.SpreadHi <= 0:
		return ""
	case strings.Trim(least, "0.") == "":
		return fmt.Sprintf("at most %.*f %%", decimals, 100*m.SpreadHi)
	}
	return fmt.Sprintf("%s to %.*f %%", least, decimals, 100*m.SpreadHi)
}

// TrueSpread is the range as words for beside the spread that was read: "true spread 2.4 to 3.8 %".
func (m Match) TrueSpread(decimals int) string {
	words := m.SpreadRange(decimals)
	if words == "" {
		return ""
	}
	return "true spread " + words
}

// Farthest returns the opening that is not odd and stands farthest from the others; nil when all are odd.
func (m Match) Farthest() *MatchOpening {
	var far *MatchOpening
	for i, o := range m.Runners {
		if !o.Odd && (far == nil || math.Abs(o.Apart) > math.Abs(far.Apart)) {
			far = &m.Runners[i]
		}
	}
	return far
}
