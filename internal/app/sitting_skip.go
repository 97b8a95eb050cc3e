package app

import (
	"context"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/job"
)

// The steps of a sitting, in their order.
const (
	StepAir      = "air"
	StepZero     = "zero"
	StepLeakage  = "leakage"
	StepCheck    = "check"
	StepReadings = "readings"
)

// StepKeys lists the steps in their order.
func StepKeys() []string { return []string{StepAir, StepZero, StepLeakage, StepCheck, StepReadings} }

// skipWords begin the line of a note that says why a step was skipped. The line is a fact of the sitting: documents show it.
func skipWords() map[string]string {
	return map[string]string{StepZero: "Zero skipped: ", StepLeakage: "Leakage skipped: ", StepCheck: "Check plate skipped: "}
}

// readNote takes a note apart into the reasons of skipped steps and the other words.
func readNote(note string) (skips map[string]string, words string) {
	skips = map[string]string{}
	var rest []string
next:
	for line := range strings.Lines(note) {
		line = strings.TrimRight(line, "\n")
		for step, begin := range skipWords() {
			if why, ok := strings.CutPrefix(line, begin); ok {
				skips[step] = why
				continue next
			}
		}
		rest = append(rest, line)
	}
	return skips, strings.TrimSpace(strings.Join(rest, "\n"))
}

func writeNote(skips map[string]string, words string) string {
	var lines []string
	if words != "" {
		lines = append(lines, words)
	}
	for _, step := range StepKeys() {
		if why, ok := skips[step]; ok {
			lines = append(lines, skipWords()[step]+why)
		}
	}
	return strings.Join(lines, "\n")
}

// Skip goes on without a step, for a reason that stays in the sitting's note. The readings carry the mark that the step is
// missing. The air cannot be skipped: no reading can be corrected without it.
func (a *App) Skip(ctx context.Context, ref SittingRef, step, why string) error {
	why = strings.Join(strings.Fields(why), " ")
	if why == "" {
		return FieldProblems{"why": "write why this step is skipped: the reason goes with every reading of the sitting"}.err()
	}
	if _, may := skipWords()[step]; !may {
		return fault.Errorf(fault.Invalid, "the step %q cannot be skipped", step)
	}
	return a.record(ctx, ref, step+" skipped", why, func(_ job.Job, s *job.Sitting) error {
		skips, words := readNote(s.Note)
		skips[step] = why
		s.Note = writeNote(skips, words)
		return nil
	})
}

// Unskip takes a skip back.
func (a *App) Unskip(ctx context.Context, ref SittingRef, step string) error {
	return a.record(ctx, ref, step+" no longer skipped", "", func(_ job.Job, s *job.Sitting) error {
		skips, words := readNote(s.Note)
		if _, there := skips[step]; !there {
			return fault.Errorf(fault.Conflict, "the step %q is not skipped", step)
		}
		delete(skips, step)
		s.Note = writeNote(skips, words)
		return nil
	})
}

func channelsOf(sensors []job.Sensor) []string {
	out := make([]string, len(sensors))
	for i, s := range sensors {
		out[i] = s.Channel
	}
	return out
}

// missingZeros lists the channels without a zero.
func missingZeros(b job.Bench, s job.Sitting) []string {
	return slices.DeleteFunc(channelsOf(zeroSensors(b)), func(ch string) bool {
		return slices.ContainsFunc(s.Zero, func(z job.ZeroRecord) bool { return z.Channel == ch })
	})
}
