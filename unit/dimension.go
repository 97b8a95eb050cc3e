package unit

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// A Unit is one way to write a quantity of some dimension: SI = value·Factor + Offset.
type Unit struct {
	Name    string   // how it is written, "inH2O"
	Aliases []string // other spellings that are read
	Suffix  string   // how it ends a wire name or a column name, "inh2o"
	Factor  float64  // size of the unit [SI unit of the dimension]
	Offset  float64  // SI value at zero of this unit [SI unit of the dimension]
}

// A Dimension is a kind of quantity and the units it may be written in; the first is the SI unit.
type Dimension struct {
	Name  string // as it stands in messages, "pressure"
	Units []Unit // the first is SI
}

// SI returns the unit in which values of the dimension are held.
func (d Dimension) SI() Unit { return d.Units[0] }

// Lookup finds a unit by its name, an alias or its column suffix. Case is ignored
// unless two units differ only by it.
func (d Dimension) Lookup(name string) (Unit, bool) {
	name = strings.TrimSpace(name)
	for _, u := range d.Units {
		if u.Name == name || u.Suffix == name {
			return u, true
		}
		if slices.Contains(u.Aliases, name) {
			return u, true
		}
	}
	for _, u := range d.Units {
		if strings.EqualFold(u.Name, name) {
			return u, true
		}
		for _, a := range u.Aliases {
			if strings.EqualFold(a, name) {
				return u, true
			}
		}
	}
	return Unit{}, false
}

// Names lists the units of the dimension as they are written.
func (d Dimension) Names() []string {
	names := make([]string, len(d.Units))
	for i, u := range d.Units {
		names[i] = u.Name
	}
	return names
}

// In returns the SI value si in the named unit. It panics when the dimension has no such unit:
// the name is the programmer's, never the user's.
func (d Dimension) In(si float64, name string) float64 {
	u, ok := d.Lookup(name)
	if !ok {
		panic(fmt.Sprintf("unit: %s has no unit %q", d.Name, name))
	}
	return u.FromSI(si)
}

// Of returns the SI value of v in the named unit. It panics when the dimension has no such unit.
func (d Dimension) Of(v float64, name string) float64 {
	u, ok := d.Lookup(name)
	if !ok {
		panic(fmt.Sprintf("unit: %s has no unit %q", d.Name, name))
	}
	return u.ToSI(v)
}

// FromSI returns the SI value si in this unit.
func (u Unit) FromSI(si float64) float64 { return (si - u.Offset) / u.Factor }

// ToSI returns v, in this unit, in SI. A unit that is a whole part of the SI one divides, so that 13 mm is 0.013 m
// to the last bit.
func (u Unit) ToSI(v float64) float64 {
	if parts := math.Round(1 / u.Factor); parts > 1 && 1/parts == u.Factor {
		return v/parts + u.Offset
	}
	return v*u.Factor + u.Offset
}

// Format writes the SI value si in the named unit with the given number of decimals: "315.2 cfm".
func (d Dimension) Format(si float64, name string, decimals int) string {
	v := d.In(si, name)
	if math.IsNaN(v) {
		return "–"
	}
	u, _ := d.Lookup(name)
	return strings.TrimSpace(fmt.Sprintf("%.*f %s", decimals, v, u.Name))
}
