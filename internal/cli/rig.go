package cli

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"os"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"runnel/internal/capture/rig"
	"runnel/internal/fault"
	"runnel/unit"
)

// rigFlags are the flags of the simulated bench.
type rigFlags struct {
	serial, modbus, mqtt, bench, control string
	plain                                bool
	seed                                 uint64
	rate                                 float64
	piece, pressure                      *quantity
}

func rigCommand(sh *shell) *cobra.Command {
	f := &rigFlags{}
	cmd := &cobra.Command{
		Use:   "rig",
		Short: "A simulated bench that speaks serial, Modbus TCP and MQTT",
		Long: `Run a simulated bench: a blower, an orifice plate, a test piece of chosen effective area, leaks, drift, noise and faults on
command. All of it is invented. Commands are read line by line; "help" lists them. With --control the same commands are taken
over HTTP: POST /do with a command as the body, GET /truth for what is really on the bench.`,
		Example: `  runnel rig --serial /tmp/rig-port --bench rig.toml
  runnel rig --modbus 127.0.0.1:5020 --piece "930 mm²" --seed 1 --bench rig.toml
  runnel rig --mqtt mqtt://127.0.0.1:1883/bench/rig --bench rig.toml
  runnel bench watch --bench rig.toml`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error { return sh.runRig(cmd.Context(), f) },
	}
	cmd.Flags().StringVar(&f.serial, "serial", "", "make a pseudo serial port at this path (Linux)")
	cmd.Flags().StringVar(&f.modbus, "modbus", "", "serve Modbus TCP at this loopback address, 127.0.0.1:5020")
	cmd.Flags().StringVar(&f.mqtt, "mqtt", "", "publish to this broker, mqtt://127.0.0.1:1883/topic")
	cmd.Flags().BoolVar(&f.plain, "plain", false, "with --mqtt, publish each channel on a topic of its own, too")
	cmd.Flags().StringVar(&f.bench, "bench", "", "write the bench card that reads this rig")
	cmd.Flags().StringVar(&f.control, "control", "", "take commands over HTTP at this loopback address")
	cmd.Flags().Uint64Var(&f.seed, "seed", 1, "seed of everything that is drawn")
	cmd.Flags().Float64Var(&f.rate, "rate", 20, "samples a second")
	f.piece = quantityFlag(cmd, "piece", unit.Area, "930 mm2", "effective area of the test piece")
	f.pressure = quantityFlag(cmd, "test-pressure", unit.Pressure, "28 inH2O", "test pressure it is set to")
	return cmd
}

// outputs makes the lines the rig speaks on. card writes, once they are open, the bench card that reads the first of them.
func (f *rigFlags) outputs() (outs []rig.Output, card func() string, err error) {
	var first func() rig.Sources
	use := func(o rig.Output, s func() rig.Sources) {
		if len(outs) == 0 {
			first = s
		}
		outs = append(outs, o)
	}
	if f.serial != "" {
		use(rig.NewPty(f.serial), func() rig.Sources { return rig.SerialSources(f.serial) })
	}
	if f.modbus != "" {
		m := rig.NewModbus(f.modbus)
		use(m, func() rig.Sources { return rig.ModbusSources(m.Place(), f.rate) })
	}
	if f.mqtt != "" {
		u, err := url.Parse(f.mqtt)
		if err != nil || u.Scheme != "mqtt" || u.Host == "" || u.Port() == "" {
			return nil, nil, &usageError{fmt.Errorf("--mqtt %q cannot be read: write it like mqtt://127.0.0.1:1883/bench/rig", f.mqtt)}
		}
		topic := strings.Trim(u.Path, "/")
		if topic == "" {
			topic = "bench/rig"
		}
		use(rig.NewMQTT(u.Host, topic, f.plain), func() rig.Sources { return rig.MQTTSources(u.Host, topic, "5") })
	}
	if len(outs) == 0 {
		return nil, nil, &usageError{errors.New("the rig has nothing to speak on: add --serial PATH, --modbus 127.0.0.1:5020 or --mqtt mqtt://127.0.0.1:1883/bench/rig")}
	}
	return outs, func() string { return rig.Card(first()) }, nil
}

func (sh *shell) runRig(ctx context.Context, f *rigFlags) error {
	outs, card, err := f.outputs()
	if err != nil {
		return err
	}
	r, err := rig.New(rig.Options{Area: *f.piece.si, Pressure: *f.pressure.si, Seed: f.seed, Rate: f.rate})
	if err != nil {
		return fault.As(fault.Invalid, err)
	}
	s, err := rig.NewServer(r, outs...)
	if err != nil {
		return fault.As(fault.Device, err)
	}
	if f.bench != "" {
		if err := notARealCard(f.bench); err != nil {
			return err
		}
		if err := os.WriteFile(f.bench, []byte(card()), 0o644); err != nil { //nolint:gosec // a bench card is for everyone to read
			return fault.As(fault.Invalid, err)
		}
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	var wg sync.WaitGroup
	defer wg.Wait()
	var ran error
	wg.Go(func() {
		defer cancel()
		ran = s.Run(ctx)
	})
	if f.control != "" {
		if err := sh.control(ctx, &wg, f.control, s); err != nil {
			cancel()
			return err
		}
	}
	places := make([]string, len(outs))
	for i, o := range outs {
		places[i] = o.Place()
	}
	if err := sh.printf("the rig runs on %s (invented); commands one a line, \"help\" lists them\n", strings.Join(places, ", ")); err != nil {
		return err
	}
	err = sh.commands(ctx, s)
	cancel()
	wg.Wait()
	return errors.Join(err, ran)
}

// commands takes lines from the input until it says quit or the command is ended. The end of the input alone is no reason to
// end: a rig may run in the background.
func (sh *shell) commands(ctx context.Context, s *rig.Server) error {
	lines := make(chan string)
	go func() {
		in := bufio.NewScanner(sh.env.Stdin)
		for in.Scan() {
			select {
			case lines <- in.Text():
			case <-ctx.Done():
				return
			}
		}
	}()
	for {
		select {
		case <-ctx.Done():
			return nil
		case line := <-lines:
			line = strings.TrimSpace(line)
			if line == "quit" {
				return nil
			}
			if line == "" {
				continue
			}
			answer, err := s.Do(line)
			if err != nil {
				answer = err.Error()
			}
			if err := sh.printf("%s\n", answer); err != nil {
				return err
			}
		}
	}
}

// control takes commands over HTTP, from this machine only.
func (sh *shell) control(ctx context.Context, wg *sync.WaitGroup, addr string, s *rig.Server) error {
	ln, err := listen(ctx, addr)
	if err != nil {
		return err
	}
	mux := http.NewServeMux()
	mux.HandleFunc("POST /do", func(w http.ResponseWriter, r *http.Request) {
		body, err := io.ReadAll(io.LimitReader(r.Body, 1000))
		if err != nil {
			http.Error(w, err.Error(), http.StatusBadRequest)
			return
		}
		answer, err := s.Do(strings.TrimSpace(string(body)))
		if err != nil {
			http.Error(w, err.Error(), http.StatusUnprocessableEntity)
			return
		}
		_, _ = io.WriteString(w, answer+"\n")
	})
	mux.HandleFunc("GET /truth", func(w http.ResponseWriter, _ *http.Request) {
		answer, err := s.Do("truth")
		if err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_, _ = io.WriteString(w, answer+"\n")
	})
	server := &http.Server{Handler: http.NewCrossOriginProtection().Handler(mux), ReadHeaderTimeout: 5 * time.Second}
	wg.Go(func() { _ = server.Serve(ln) })
	context.AfterFunc(ctx, func() { _ = server.Close() })
	return sh.printf("commands at http://%s/do\n", ln.Addr())
}

// notARealCard refuses to write the rig's card over one that is not of a rig.
func notARealCard(name string) error {
	old, err := os.ReadFile(name)
	if err != nil || len(bytes.TrimSpace(old)) == 0 || bytes.HasPrefix(old, []byte(rig.CardMark)) {
		return nil //nolint:nilerr // whatever else is wrong with it is told when it is written
	}
	return &usageError{fmt.Errorf("--bench %s: that file is there already and is no card of a rig: name another, such as rig.toml", name)}
}
