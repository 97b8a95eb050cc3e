package cli

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"runnel/internal/capture"
	"runnel/internal/capture/sources"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/unit"
)

func benchCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Read the sensors of a live bench",
		Long: `Read the sensors of a live bench by its card, bench.toml. Each sensor names where it is read from:

  source = "serial:/dev/ttyUSB0?baud=115200#meter_dp"
  source = "modbus+tcp://192.168.1.20:502/1?reg=input:0&type=float32&unit=Pa"
  source = "mqtt://localhost:1883/bench/air#temp"
  source = "replay:traces/r001.csv?speed=2"
  source = "hand:"
  source = "rig:?piece=930mm2"

"runnel rig" makes a simulated bench and its card, so that all of this can be tried without hardware.`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(benchWatchCommand(sh), benchRecordCommand(sh), benchCheckCommand(sh))
	return cmd
}

// benchFlags are the flags that every command of a live bench has.
type benchFlags struct {
	file string
	last time.Duration
}

func addBench(cmd *cobra.Command, last time.Duration, lastHelp string) *benchFlags {
	b := &benchFlags{}
	cmd.Flags().StringVar(&b.file, "bench", "bench.toml", "bench card that says how the sensors are read")
	cmd.Flags().DurationVar(&b.last, "for", last, lastHelp)
	return b
}

// A liveBench is a bench that a command reads.
type liveBench struct {
	card    job.Bench
	session *capture.Session
	sources []capture.Source
}

// start reads the card and starts a session. Close it when done.
func (b *benchFlags) start(ctx context.Context, watch func(capture.Frame), told func(capture.Fault)) (*liveBench, error) {
	if b.last < 0 {
		return nil, &usageError{fmt.Errorf("--for %v is negative: write a time such as 30s", b.last)}
	}
	data, err := os.ReadFile(b.file)
	if err != nil {
		return nil, fault.As(fault.NotFound, err)
	}
	card, err := job.LoadBench(b.file, data)
	if err != nil {
		return nil, err
	}
	clock := capture.NewClock(time.Now) //nolint:forbidigo // the clock that everything below is handed
	srcs, err := sources.OpenIn(filepath.Dir(b.file), card, clock)
	if err != nil {
		return nil, err
	}
	s, err := capture.Start(ctx, capture.Config{Bench: card, Sources: srcs, Clock: clock, Watch: watch, Told: told, History: b.last + time.Minute})
	if err != nil {
		return nil, err
	}
	return &liveBench{card, s, srcs}, nil
}

// wait waits for a while, for ever when it is zero, or until the command is ended.
func wait(ctx context.Context, d time.Duration) {
	var over <-chan time.Time
	if d > 0 {
		t := time.NewTimer(d)
		defer t.Stop()
		over = t.C
	}
	select {
	case <-ctx.Done():
	case <-over:
	}
}

// shown turns values of a channel back into the unit of its sensor.
type shown struct {
	card job.Sensor
	unit unit.Unit
}

func (b *liveBench) shown() ([]shown, error) {
	var out []shown
	for _, s := range b.card.Sensors {
		if s.Source == "" {
			continue
		}
		u, _, err := capture.UnitOf(s)
		if err != nil {
			return nil, fault.As(fault.Invalid, err)
		}
		out = append(out, shown{s, u})
	}
	return out, nil
}

// errSilent is a bench of which nothing came.
var errSilent = errors.New("no sensor of the bench gave a sample")
