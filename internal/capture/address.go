package capture

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"
)

// An Address is where a sensor is read from, taken apart.
type Address struct {
	Kind    string            // "serial", "modbus+tcp"
	Place   string            // what the line hangs on: a port, a file, a host with its number
	Path    string            // what follows the host, without its slash: a topic, a unit
	Options map[string]string // "baud": "115200"
	Field   string            // what is read there
}

// ParseAddress takes an address apart. The grammar is
//
//	KIND : PLACE [? NAME=VALUE & NAME=VALUE …] [# FIELD]
//	KIND :// HOST:NUMBER [/ PATH] [? …] [# FIELD]
//
// as in
//
//	serial:/dev/ttyUSB0?baud=115200#meter_dp
//	modbus+tcp://192.168.1.20:502/1?reg=input:0&type=float32
//	mqtt://localhost:1883/bench/meter_dp
//	mqtt://localhost:1883/bench#air.temp
//	replay:traces/r001.csv?speed=2#meter_dp
//	hand:
//
// The place ends at the first question mark, the field begins after the last number sign. In values, %3F, %23, %26, %20 and
// other bytes may be written in hexadecimal; a plus is a plus. Options that stand twice, have no value or no name are errors.
func ParseAddress(s string) (Address, error) {
	a := Address{Options: map[string]string{}}
	kind, rest, found := strings.Cut(strings.TrimSpace(s), ":")
	if !found || kind == "" || strings.ContainsAny(kind, "/?# ") {
		return Address{}, addressError(s, `begins with no kind: write it like "serial:/dev/ttyUSB0?baud=115200#meter_dp"`)
	}
	a.Kind = strings.ToLower(kind)
	if i := strings.LastIndexByte(rest, '#'); i >= 0 {
		field, err := url.PathUnescape(rest[i+1:])
		if err != nil {
			return Address{}, addressError(s, "has a field that cannot be read: "+err.Error())
		}
		if field == "" {
			return Address{}, addressError(s, "has nothing after #: name the field, or leave the # out")
		}
		a.Field, rest = field, rest[:i]
	}
	rest, query, asked := strings.Cut(rest, "?")
	if asked {
		if err := a.query(s, query); err != nil {
			return Address{}, err
		}
	}
	if host, ok := strings.CutPrefix(rest, "//"); ok {
		a.Place, a.Path, _ = strings.Cut(host, "/")
		if a.Place == "" {
			return Address{}, addressError(s, `has no host after //: write it like "//localhost:1883"`)
		}
		return a, nil
	}
	place, err := url.PathUnescape(rest)
	if err != nil {
		return Address{}, addressError(s, "has a place that cannot be read: "+err.Error())
	}
	a.Place = place
	return a, nil
}

func (a *Address) query(s, query string) error {
	for part := range strings.SplitSeq(query, "&") {
		name, value, found := strings.Cut(part, "=")
		if !found || name == "" || value == "" {
			return addressError(s, fmt.Sprintf("has an option %q that is not NAME=VALUE", part))
		}
		value, err := url.PathUnescape(value)
		if err != nil {
			return addressError(s, fmt.Sprintf("has an option %s that cannot be read: %v", name, err))
		}
		if _, twice := a.Options[name]; twice {
			return addressError(s, fmt.Sprintf("has option %s twice", name))
		}
		a.Options[name] = value
	}
	return nil
}

func addressError(s, what string) error { return fmt.Errorf("source %q %s", s, what) }

// Options are the values of an address, read one by one with their limits; the first error is kept.
type Options struct {
	values map[string]string
	err    error
}

// Err returns the first value that could not be read.
func (o *Options) Err() error { return o.err }

// Text returns an option as it stands, or def.
func (o *Options) Text(name, def string) string {
	if v, ok := o.values[name]; ok {
		return v
	}
	return def
}

// Int returns a whole number from lo to hi, or def.
func (o *Options) Int(name string, def, lo, hi int) int {
	v, ok := o.values[name]
	if !ok {
		return def
	}
	n, err := strconv.Atoi(v)
	if err != nil || n < lo || n > hi {
		o.fail(fmt.Errorf("%s=%s: write a whole number from %d to %d", name, v, lo, hi))
		return def
	}
	return n
}

// Number returns a number from lo to hi, or def; its unit is that of the option.
func (o *Options) Number(name string, def, lo, hi float64) float64 {
	v, ok := o.values[name]
	if !ok {
		return def
	}
	x, err := strconv.ParseFloat(v, 64)
	if err != nil || !(x >= lo && x <= hi) {
		o.fail(fmt.Errorf("%s=%s: write a number from %g to %g", name, v, lo, hi))
		return def
	}
	return x
}

// OneOf returns one of some words; the first is what is taken when there is none.
func (o *Options) OneOf(name string, words ...string) string {
	v, ok := o.values[name]
	if !ok {
		return words[0]
	}
	if !slices.Contains(words, v) {
		o.fail(fmt.Errorf("%s=%s: write one of %s", name, v, strings.Join(words, ", ")))
		return words[0]
	}
	return v
}

func (o *Options) fail(err error) {
	if o.err == nil {
		o.err = err
	}
}

// errNoSource is a bench of which nothing can be read live.
var errNoSource = errors.New("none of its sensors has a source: write under each where it is read from, such as source = \"serial:/dev/ttyUSB0#meter_dp\"")
