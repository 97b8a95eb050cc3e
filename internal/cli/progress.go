package cli

import (
	"github.com/schollz/progressbar/v3"
)

// progress returns a callback that shows a bar on a terminal and is quiet in a pipe. A call with total 0 ends it.
func (sh *shell) progress(title string) func(stage string, done, total int) {
	if !sh.terminal() {
		return func(string, int, int) {}
	}
	var bar *progressbar.ProgressBar
	last := ""
	return func(stage string, done, total int) {
		if total == 0 {
			if bar != nil {
				_ = bar.Finish()
				_ = bar.Clear()
				bar = nil
			}
			return
		}
		if bar == nil || stage != last {
			if bar != nil {
				_ = bar.Clear()
			}
			if stage == "" {
				stage = title
			}
			bar = progressbar.NewOptions(total, progressbar.OptionSetWriter(sh.env.Stderr), progressbar.OptionSetDescription(stage),
				progressbar.OptionShowCount(), progressbar.OptionSetWidth(30), progressbar.OptionClearOnFinish())
			last = stage
		}
		_ = bar.Set(done)
	}
}
