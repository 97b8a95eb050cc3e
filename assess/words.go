package assess

import (
	"fmt"
)

func rpm(n float64) string { return fmt.Sprintf("%.0f rpm", n*60) }
