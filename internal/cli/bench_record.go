package cli

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"runnel/internal/capture"
	"runnel/internal/fault"
	"runnel/job"
)

type recordOut struct {
	File     string          `json:"file"`
	Samples  int             `json:"samples"`
	Duration float64         `json:"duration_s"` // from the first sample to the last [s]
	Channels []settleOut     `json:"channels"`
	Faults   []capture.Fault `json:"faults"`
}

func benchRecordCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "record",
		Short: "Record a trace from the live bench",
		Long: `Record the sensors into a trace, as "runnel settle" and a job folder read it. Ctrl-C ends it early and keeps what came.
Samples are written as read: calibration and zero are for the reading to apply. A gap stays a gap.`,
		Example: "  runnel bench record --for 30s --out traces/r001.csv",
		Args:    cobra.NoArgs,
	}
	flags := addBench(cmd, 30*time.Second, "how long to record")
	out := cmd.Flags().String("out", "", "file to write")
	cmd.RunE = func(cmd *cobra.Command, _ []string) error {
		switch {
		case *out == "":
			return &usageError{errors.New("--out is missing: name the file to write, such as --out trace.csv")}
		case flags.last == 0:
			return &usageError{errors.New("--for 0s leaves nothing to record")}
		}
		if err := isFree("out", *out); err != nil {
			return err
		}
		var mu sync.Mutex
		faults := []capture.Fault{}
		b, err := flags.start(cmd.Context(), nil, func(f capture.Fault) {
			mu.Lock()
			defer mu.Unlock()
			faults = append(faults, f)
		})
		if err != nil {
			return err
		}
		b.awaitFirst(cmd)
		from := b.session.Now()
		wait(cmd.Context(), flags.last)
		trace, err := b.session.Trace(from, from+flags.last)
		if stopped := b.session.Stop(); err == nil {
			err = stopped
		}
		if fault.KindOf(err) == fault.NotFound {
			return fault.As(fault.Device, fmt.Errorf("%w: %w; \"runnel bench check\" says more", errSilent, err))
		}
		if err != nil {
			return err
		}
		if err := writeTrace(*out, trace); err != nil {
			return err
		}
		mu.Lock()
		defer mu.Unlock()
		return sh.showRecord(recordOut{File: *out, Samples: len(trace.Time), Duration: trace.Time[len(trace.Time)-1] - trace.Time[0], Faults: faults}, trace)
	}
	return cmd
}

// awaitFirst waits until every source has had the time to connect, so that a recording does not begin with a gap.
func (b *liveBench) awaitFirst(cmd *cobra.Command) {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for end := b.session.Now() + 3*time.Second; b.session.Now() < end; {
		all := true
		for _, c := range b.session.State().Channels {
			all = all && c.Samples > 0
		}
		if all {
			return
		}
		select {
		case <-cmd.Context().Done():
			return
		case <-tick.C:
		}
	}
}

// writeTrace writes a trace beside its place and moves it there, so that a file is whole or not there.
func writeTrace(name string, t job.Trace) (err error) {
	f, err := os.CreateTemp(filepath.Dir(name), ".trace-*.csv")
	if err != nil {
		return fault.As(fault.Invalid, err)
	}
	defer func() {
		if err != nil {
			_ = os.Remove(f.Name())
		}
	}()
	if err := errors.Join(job.WriteTrace(f, t), f.Sync(), f.Chmod(0o644), f.Close()); err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}

func (sh *shell) showRecord(out recordOut, trace job.Trace) error {
	out.Channels = []settleOut{}
	for _, c := range trace.Channels {
		s, err := settleChannel(trace.Time, c)
		if err != nil { // too short or too odd to settle: the trace is there all the same
			continue
		}
		out.Channels = append(out.Channels, s)
	}
	if sh.json {
		return sh.printJSON(out)
	}
	if err := sh.printf("%s: %d samples over %.1f s\n", out.File, out.Samples, out.Duration); err != nil {
		return err
	}
	if err := sh.showSettled(out.Channels); err != nil {
		return err
	}
	for _, f := range out.Faults {
		state := "began"
		if !f.Until.IsZero() {
			state = "ended"
		}
		if err := sh.printf("note: %s %s at %.1f s: %s\n", faultName(f), state, max(f.From, f.To), f.Text); err != nil {
			return err
		}
	}
	return nil
}
