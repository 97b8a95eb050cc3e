package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"sync"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"runnel/internal/capture"
)

func benchWatchCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "watch",
		Short: "Needles and the last minute of every sensor, in the terminal",
		Long: `Show a needle and the last minute of every sensor. Ctrl-C ends it. In a pipe one line a second is written; with --json
every frame, one a line, twenty a second.`,
		Example: "  runnel bench watch --bench bench.toml",
		Args:    cobra.NoArgs,
	}
	flags := addBench(cmd, 0, "how long to watch; 0 means until Ctrl-C")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		w := &watcher{sh: sh, screen: sh.screen(), columns: sh.columns}
		b, err := flags.start(cmd.Context(), w.frame, nil)
		if err != nil {
			return err
		}
		sensors, err := b.shown()
		if err != nil {
			return err
		}
		w.begin(sensors)
		wait(cmd.Context(), flags.last)
		if err := b.session.Stop(); err != nil {
			return err
		}
		return w.end()
	}
	return cmd
}

// screen reports whether the output is a terminal that can be drawn on.
func (sh *shell) screen() bool {
	f, ok := sh.env.Stdout.(*os.File)
	if !ok || sh.json {
		return false
	}
	st, err := f.Stat()
	return err == nil && st.Mode()&os.ModeCharDevice != 0
}

// columns is how wide the terminal is, 80 where it does not say [characters].
func (sh *shell) columns() int {
	if f, ok := sh.env.Stdout.(*os.File); ok {
		if n, _, err := term.GetSize(int(f.Fd())); err == nil && n > 0 {
			return n
		}
	}
	return 80
}

// A watcher draws frames.
type watcher struct {
	sh      *shell
	screen  bool
	columns func() int // how wide the screen is now

	mu      sync.Mutex
	sensors []shown
	trails  []trail
	frames  int
	height  int
	wide    int // columns of the last picture
	err     error
}

// begin is when the sensors are known; frames before are let go by.
func (w *watcher) begin(sensors []shown) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.sensors, w.trails = sensors, make([]trail, len(sensors))
}

func (w *watcher) end() error {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.err
}

func (w *watcher) frame(f capture.Frame) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err != nil || w.sensors == nil {
		return
	}
	w.frames++
	if w.sh.json {
		w.err = json.NewEncoder(w.sh.env.Stdout).Encode(f)
		return
	}
	for i := range f.Needles {
		if i < len(w.trails) {
			w.trails[i].add(f.Time, f.Needles[i].Value)
		}
	}
	switch {
	case w.screen && w.frames%4 == 0: // five pictures a second
		w.err = w.draw(f)
	case !w.screen && w.frames%20 == 0:
		w.err = w.line(f)
	}
}

// line writes one line for a pipe.
func (w *watcher) line(f capture.Frame) error {
	words := []string{f.At.Format("15:04:05")}
	for i, n := range f.Needles {
		value := "–"
		if n.Value != nil {
			value = fmt.Sprintf("%.5g", w.sensors[i].unit.FromSI(*n.Value))
		}
		words = append(words, strings.TrimSpace(n.Channel+" "+value+" "+w.sensors[i].unit.Name))
	}
	for _, x := range f.Faults {
		words = append(words, strings.ToUpper(faultName(x)))
	}
	return w.sh.printf("%s\n", strings.Join(words, "   "))
}

// draw paints the screen anew, over the last picture.
func (w *watcher) draw(f capture.Frame) error {
	var b strings.Builder
	wide := max(1, w.columns()-1) // a line that fills the last column may wrap, which would spoil the count of lines
	switch {
	case w.height > 0 && wide == w.wide:
		fmt.Fprintf(&b, "\x1b[%dA\x1b[J", w.height)
	case w.height > 0: // the lines of the last picture may have wrapped anew
		b.WriteString("\x1b[H\x1b[2J")
	}
	w.wide = wide
	for i, n := range f.Needles {
		s := w.sensors[i]
		value := "–"
		if n.Value != nil {
			value = fmt.Sprintf("%.5g", s.unit.FromSI(*n.Value))
		}
		lo, hi := w.trails[i].span()
		if s.card.Low != nil && s.card.High != nil {
			lo, hi = s.unit.ToSI(*s.card.Low), s.unit.ToSI(*s.card.High)
		}
		line := fmt.Sprintf("%-13s %10s %-6s", n.Channel, value, s.unit.Name)
		bar, cells := room(wide - len([]rune(line)))
		if bar > 0 {
			line += " " + needle(n.Value, lo, hi, bar)
		}
		if cells > 0 {
			line += "  " + w.trails[i].spark(cells)
		}
		b.WriteString(clipLine(line, wide) + "\n")
	}
	for _, x := range f.Faults {
		b.WriteString(clipLine(strings.ToUpper(faultName(x))+": "+x.Text, wide) + "\n")
	}
	w.height = strings.Count(b.String(), "\n")
	return w.sh.printf("%s", b.String())
}

// clipLine keeps a line from wrapping, which would spoil the count of lines.
func clipLine(s string, n int) string {
	if r := []rune(s); len(r) > n {
		return string(r[:n-1]) + "…"
	}
	return s
}

// room shares what is left of a line out to the needle and the last minute: the most of both is 24 and 40 characters, and on a narrow
// screen the last minute goes first.
func room(left int) (bar, cells int) {
	const ends, gap = 3, 2 // " ├" and "┤", and the space before the last minute
	left -= ends
	if left < 8 {
		return 0, 0
	}
	bar = min(24, left)
	if left >= 8+gap+10 {
		bar = min(24, max(8, (left-gap)*3/8))
		cells = min(trailCells, left-gap-bar)
	}
	return bar, cells
}

// needle draws where a value stands between two ends.
func needle(v *float64, lo, hi float64, width int) string {
	bar := []rune(strings.Repeat("·", width))
	if v != nil && hi > lo {
		at := (*v - lo) / (hi - lo)
		bar[int(math.Round(min(max(at, 0), 1)*float64(width-1)))] = '┃'
	}
	return "├" + string(bar) + "┤"
}

// trailCells is how many cells the last minute is drawn in.
const trailCells = 40

// A trail is the last minute of a channel, a mean for each cell.
type trail struct {
	sum   [trailCells]float64
	n     [trailCells]int
	first int64 // number of the first cell
	begun bool
}

// add takes the value of a frame at a time [s]; nil is a gap.
func (t *trail) add(at float64, v *float64) {
	cell := int64(at / (60.0 / trailCells))
	if !t.begun {
		t.begun, t.first = true, cell-trailCells+1
	}
	for cell >= t.first+trailCells {
		copy(t.sum[:], t.sum[1:])
		copy(t.n[:], t.n[1:])
		t.sum[trailCells-1], t.n[trailCells-1] = 0, 0
		t.first++
	}
	if v != nil {
		t.sum[cell-t.first] += *v
		t.n[cell-t.first]++
	}
}

func (t *trail) span() (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	for i, n := range t.n {
		if n > 0 {
			m := t.sum[i] / float64(n)
			lo, hi = min(lo, m), max(hi, m)
		}
	}
	return lo, hi
}

// spark draws the trail in a number of cells, no more than it has; a cell without samples is blank.
func (t *trail) spark(cells int) string {
	steps := []rune("▁▂▃▄▅▆▇█")
	lo, hi := t.span()
	var b strings.Builder
	for i := range cells {
		sum, n := 0.0, 0
		for k := i * trailCells / cells; k < (i+1)*trailCells/cells; k++ {
			sum, n = sum+t.sum[k], n+t.n[k]
		}
		if n == 0 {
			b.WriteByte(' ')
			continue
		}
		k := len(steps) / 2
		if hi > lo {
			k = int(math.Round((sum/float64(n) - lo) / (hi - lo) * float64(len(steps)-1)))
		}
		b.WriteRune(steps[k])
	}
	return b.String()
}
