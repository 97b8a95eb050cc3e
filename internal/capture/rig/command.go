package rig

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"runnel/unit"
)

// faults lists the faults that can be asked for, and what each does.
var faults = [...]struct{ Name, Text string }{
	{"freeze", "meter and test-pressure sensors repeat their last value"},
	{"unplug", "the line is dead and its port gone"},
	{"silent", "the line is there and sends nothing"},
	{"spike", "the meter's sensor jumps three times a second"},
	{"clip", "the meter's sensor stands at its upper end"},
	{"clock", "the rig's clock jumps ahead by an hour, once"},
	{"rate", "every second sample is missing"},
	{"sag", "the blower loses a tenth of its speed and the test pressure is not held"},
	{"garble", "lines and messages are cut short"},
}

// Help lists the commands of a rig.
func Help() string {
	var b strings.Builder
	b.WriteString(`commands, one a line:
  piece AREA         clamp a piece of this effective area, as "piece 930 mm2"
  blank              close every opening: only the leaks are left
  open               the piece again, as it was clamped
  blower off|on      stop the blower, or let it run again
  pressure P         set the test pressure, as "pressure 28 inH2O"
  leak FLOW          let this much leak at the test pressure, as "leak 1.2 cfm"
  fault NAME [off]   let something fail, or mend it:
`)
	for _, f := range faults {
		fmt.Fprintf(&b, "      %-8s %s\n", f.Name, f.Text)
	}
	b.WriteString("  well               mend every fault\n  truth              what the rig really has on it, as JSON\n  quit               end\n")
	return b.String()
}

// Do carries out one command. The answer is what to tell, "ok" when there is nothing else.
func (r *Rig) Do(line string) (answer string, err error) {
	word, rest, _ := strings.Cut(strings.TrimSpace(line), " ")
	rest = strings.TrimSpace(rest)
	switch word {
	case "piece":
		return r.piece(rest)
	case "blank":
		r.blanked = true
		if err := r.check(); err != nil {
			return "", err
		}
		v, err := r.wantedValve()
		r.valve = v // whoever blanks has turned the blower down before
		return "blanked", err
	case "open":
		r.blanked = false
		return "open", r.check()
	case "blower":
		return r.blower(rest)
	case "pressure":
		return r.pressure(rest)
	case "leak":
		q, err := unit.VolumeFlow.Parse(rest)
		if err != nil {
			return "", err
		}
		if q < 0 {
			return "", fmt.Errorf("a leak of %s cannot be", rest)
		}
		r.leakK = q / math.Pow(r.target, leakExponent)
		return "leaks " + rest, r.check()
	case "fault":
		return r.fault(rest)
	case "well":
		clear(r.flt)
		return "well", nil
	case "help", "?":
		return Help(), nil
	}
	return "", fmt.Errorf("command %q is not known: write help", word)
}

func (r *Rig) piece(rest string) (string, error) {
	a, err := unit.Area.Parse(rest)
	if err != nil {
		return "", err
	}
	if !(a > 1e-7 && a < 3e-3) {
		return "", fmt.Errorf("an effective area of %s is beyond this rig: choose up to 3000 mm²", rest)
	}
	before, blanked := r.truth.Area, r.blanked
	r.Mount(a)
	if err := r.check(); err != nil {
		r.Mount(before)
		r.blanked = blanked
		return "", err
	}
	return "piece of " + unit.Area.Format(a, "mm²", 1), nil
}

func (r *Rig) pressure(rest string) (string, error) {
	p, err := unit.Pressure.Parse(rest)
	if err != nil {
		return "", err
	}
	if !(p > 100 && p < 0.9*blowerShut) {
		return "", fmt.Errorf("a test pressure of %s is beyond this rig: choose 0.1 to 21 kPa", rest)
	}
	before := r.target
	r.target = p
	if err := r.check(); err != nil {
		r.target = before
		return "", err
	}
	return "test pressure " + rest, nil
}

// blower stops the blower or lets it run up again.
func (r *Rig) blower(rest string) (string, error) {
	switch rest {
	case "off":
		r.stopped = true
	case "on":
		if r.stopped {
			r.stopped, r.speed = false, runUp
		}
	default:
		return "", fmt.Errorf("blower %q: write off or on", rest)
	}
	return "blower " + rest, r.check()
}

// check says whether the blower can hold what is asked of it.
func (r *Rig) check() error {
	if r.blanked && r.leakK == 0 {
		r.leakK = 1e-9 // a rig without any leak would have no flow to balance
	}
	_, err := r.wantedValve()
	return err
}

func (r *Rig) fault(rest string) (string, error) {
	name, state, _ := strings.Cut(rest, " ")
	if !slices.ContainsFunc(faults[:], func(f struct{ Name, Text string }) bool { return f.Name == name }) {
		return "", fmt.Errorf("fault %q is not known: write help", name)
	}
	on := state != "off"
	if name == "clock" {
		if on {
			r.clock += 3600
		}
		return "clock", nil
	}
	r.flt[name] = on
	return name + " " + strconv.FormatBool(on), nil
}

// Failing reports whether a fault is on.
func (r *Rig) Failing(name string) bool { return r.flt[name] }
