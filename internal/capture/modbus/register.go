package modbus

import (
	"cmp"
	"encoding/binary"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/simonvetter/modbus"

	"runnel/internal/capture"
)

// A register is where one sensor stands.
type register struct {
	server   uint8
	kind     modbus.RegType
	address  uint16
	words    uint16
	format   string
	lowFirst bool
	scale    capture.Scale
	channel  int // place among the channels of the source
}

// parseRegister reads the options of one sensor.
func parseRegister(t capture.Tap, o *capture.Options, server int) (register, error) {
	r := register{server: uint8(server)} //nolint:gosec // the caller has limited it to 247
	reg := o.Text("reg", "")
	kind, number, found := strings.Cut(reg, ":")
	if !found {
		return r, fmt.Errorf("reg=%q: write the kind and the address from zero, as reg=input:0 or reg=holding:100", reg)
	}
	switch kind {
	case "input":
		r.kind = modbus.INPUT_REGISTER
	case "holding":
		r.kind = modbus.HOLDING_REGISTER
	default:
		return r, fmt.Errorf("reg=%s: a register is of kind input or holding", reg)
	}
	n, err := strconv.ParseUint(number, 10, 16)
	if err != nil {
		return r, fmt.Errorf("reg=%s: write an address from 0 to 65535", reg)
	}
	r.address = uint16(n)
	r.format = o.OneOf("type", "uint16", "int16", "uint32", "int32", "float32", "uint64", "int64", "float64")
	r.words = wordsOf(r.format)
	r.lowFirst = o.OneOf("order", "high", "low") == "low"
	if int(r.address)+int(r.words) > 1<<16 {
		return r, fmt.Errorf("reg=%s: a %s there runs past the last register", reg, r.format)
	}
	if t.Address.Field != "" {
		return r, errors.New("a register has no field: leave out what follows #")
	}
	if r.scale, err = t.Scale(o, ""); err != nil {
		return r, err
	}
	return r, o.Err()
}

func wordsOf(format string) uint16 {
	switch {
	case strings.HasSuffix(format, "64"):
		return 4
	case strings.HasSuffix(format, "32"):
		return 2
	}
	return 1
}

// value makes the number out of its registers, each as it came over the wire, high byte first.
func (r register) value(b []byte) float64 {
	words := b
	if r.lowFirst && r.words > 1 {
		words = make([]byte, 0, len(b))
		for i := len(b) - 2; i >= 0; i -= 2 {
			words = append(words, b[i], b[i+1])
		}
	}
	switch r.format {
	case "uint16":
		return float64(binary.BigEndian.Uint16(words))
	case "int16":
		return float64(int16(binary.BigEndian.Uint16(words))) //nolint:gosec // two's complement is meant
	case "uint32":
		return float64(binary.BigEndian.Uint32(words))
	case "int32":
		return float64(int32(binary.BigEndian.Uint32(words))) //nolint:gosec // two's complement is meant
	case "float32":
		return float64(math.Float32frombits(binary.BigEndian.Uint32(words)))
	case "uint64":
		return float64(binary.BigEndian.Uint64(words))
	case "int64":
		return float64(int64(binary.BigEndian.Uint64(words))) //nolint:gosec // two's complement is meant
	}
	return math.Float64frombits(binary.BigEndian.Uint64(words))
}

// A span is registers that are read in one request.
type span struct {
	server    uint8
	kind      modbus.RegType
	address   uint16
	words     uint16
	registers []register
}

// Limits of one request.
const (
	spanLimit = 120 // registers in one request; the standard allows 125
	gapLimit  = 16  // registers that are read for nothing rather than asking twice
)

// spansOf gathers registers into requests.
func spansOf(all []register) []span {
	all = slices.Clone(all)
	slices.SortFunc(all, func(a, b register) int {
		return cmp.Or(cmp.Compare(a.server, b.server), cmp.Compare(a.kind, b.kind), cmp.Compare(a.address, b.address))
	})
	var out []span
	for _, r := range all {
		end := int(r.address) + int(r.words)
		if n := len(out); n > 0 {
			s := &out[n-1]
			have := int(s.address) + int(s.words)
			if s.server == r.server && s.kind == r.kind && int(r.address) <= have+gapLimit && end-int(s.address) <= spanLimit {
				s.words = uint16(max(have, end) - int(s.address)) //nolint:gosec // at most spanLimit
				s.registers = append(s.registers, r)
				continue
			}
		}
		out = append(out, span{r.server, r.kind, r.address, r.words, []register{r}})
	}
	return out
}
