package cli

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/pflag"

	"runnel/unit"
)

// looseUnit returns the place of an argument that is a unit by itself, as a shell makes it of a quantity without quotes; −1 without any.
func looseUnit(args []string) int {
	return slices.IndexFunc(args, func(a string) bool {
		return slices.ContainsFunc(unit.All(), func(d unit.Dimension) bool { _, ok := d.Lookup(a); return ok && a != "" })
	})
}

// quoteLike writes the quantity that an argument with a loose unit was most likely meant as.
func quoteLike(args []string, i int) string {
	if i > 0 {
		if _, err := strconv.ParseFloat(args[i-1], 64); err == nil {
			return args[i-1] + " " + args[i]
		}
	}
	return "28 " + args[i]
}

// plainFlag puts the words of the flag parser plainly.
func plainFlag(err error) error {
	bad, ok := errors.AsType[*pflag.InvalidValueError](err)
	if !ok {
		return err
	}
	name, typed, like := bad.GetFlag().Name, bad.GetValue(), "40"
	switch bad.GetFlag().Value.Type() {
	case "float64":
		if like = "45.5"; strings.Contains(typed, ",") {
			return fmt.Errorf("--%s %q has a comma: write it with a point, like %s", name, typed, like)
		}
	case "int", "uint64":
	case "duration":
		return fmt.Errorf("--%s %q is no length of time: write it like 30s, 1.5s or 2m", name, typed)
	default:
		return fmt.Errorf("--%s: %w", name, bad.Unwrap())
	}
	return fmt.Errorf("--%s %q is not a number that fits: write it without a unit, like %s", name, typed, like)
}
