package job

import (
	"fmt"
	"maps"
	"regexp"
	"slices"
)

var jobName = regexp.MustCompile(`^[a-z0-9][a-z0-9-]{0,62}$`)

// facts checks job.toml apart from the engine.
func (c *checker) facts() {
	j := c.job
	if j.Format != "" && j.Format != Format {
		c.add(jobFile, "format", fmt.Sprintf("format %q is not one this program reads", clip(j.Format)), fmt.Sprintf("write %q", Format))
	}
	if j.ID != "" && !jobName.MatchString(j.ID) {
		c.add(jobFile, "id", fmt.Sprintf("id %q is no name of a job", clip(j.ID)), "write lower-case letters, digits and dashes, at most 63")
	}
	c.reference()
	seen := map[string]bool{}
	for i, id := range j.Tract {
		if seen[id] {
			c.add(jobFile, fmt.Sprintf("tract[%d]", i), fmt.Sprintf("piece %q stands twice in the tract", id), "name every piece once, in the order the air meets them")
		}
		seen[id] = true
	}
	for i := range j.Pieces {
		c.piece(i)
	}
	for i := range j.Rigs {
		c.rig(i)
	}
	for i, cmp := range j.Compare {
		c.compare(cmp, fmt.Sprintf("compare[%d]", i))
	}
}

func (c *checker) reference() {
	r := c.job.Reference
	c.ratio(jobFile, "reference.rh", r.Humidity)
	c.ratio(jobFile, "reference.smallest_change", r.SmallestChange)
	c.testPressure(jobFile, "reference.test_pressure", r.TestPressure, true)
	c.airPressure(jobFile, "reference.pressure", r.Pressure, true)
	c.airTemperature(jobFile, "reference.temp", r.Temperature, true)
}

func (c *checker) piece(i int) {
	p, at := &c.job.Pieces[i], fmt.Sprintf("pieces[%d]", i)
	seen := map[string]bool{}
	for k, o := range p.Openings {
		key := fmt.Sprintf("%s.openings[%d]", at, k)
		switch {
		case o == "":
			c.add(jobFile, key, "an opening without a name", "write the number of its cylinder or a name")
		case seen[o]:
			c.add(jobFile, key, fmt.Sprintf("opening %q stands twice", o), "name every opening once")
		}
		seen[o] = true
	}
	c.ratio(jobFile, at+".carried_on", p.CarriedOn)
	c.notNegative(jobFile, at+".exit_area", "exit area", p.ExitArea)
	c.notNegative(jobFile, at+".least_wall", "least wall", p.LeastWall)
	for _, o := range slices.Sorted(maps.Keys(p.Sections)) {
		if !seen[o] && len(p.Openings) > 0 {
			c.add(jobFile, at+".sections."+o, fmt.Sprintf("%q is no opening of piece %q", clip(o), p.ID), "write "+choices(p.Openings))
		}
	}
}

func (c *checker) rig(i int) {
	r, at := &c.job.Rigs[i], fmt.Sprintf("rigs[%d]", i)
	c.testPressure(jobFile, at+".test_pressure", r.TestPressure, false)
	c.notNegative(jobFile, at+".entry_radius", "entry radius", r.EntryRadius)
	c.notNegative(jobFile, at+".entry_bore", "entry bore", r.EntryBore)
	if r.EntryRadius > 0 && r.Entry != "radiused" {
		c.add(jobFile, at+".entry_radius", "an entry radius is given for a bare entry", `write entry = "radiused" or leave the radius out`)
	}
	if slices.Contains(r.Fitted, r.Piece) && r.Piece != "" {
		c.add(jobFile, at+".fitted", fmt.Sprintf("piece %q is fitted to itself", r.Piece), "name only other pieces")
	}
}

func (c *checker) compare(cmp Compare, at string) {
	from, to := c.round(cmp.From), c.round(cmp.To)
	switch {
	case from == nil || to == nil:
	case cmp.From == cmp.To:
		c.add(jobFile, at+".to", fmt.Sprintf("round %q is compared with itself", cmp.From), "name two rounds")
	case from.Piece != to.Piece:
		c.add(jobFile, at+".to", fmt.Sprintf("round %q is of piece %q, round %q of piece %q", to.ID, to.Piece, from.ID, from.Piece), "compare two rounds of one piece")
	}
}

func (c *checker) round(id string) *Round {
	if i := slices.IndexFunc(c.job.Rounds, func(r Round) bool { return r.ID == id }); i >= 0 {
		return &c.job.Rounds[i]
	}
	return nil
}

func (c *checker) rigCard(id string) *RigCard {
	if i := slices.IndexFunc(c.job.Rigs, func(r RigCard) bool { return r.ID == id }); i >= 0 {
		return &c.job.Rigs[i]
	}
	return nil
}

func (c *checker) pieceOf(id string) *Piece {
	if i := slices.IndexFunc(c.job.Pieces, func(p Piece) bool { return p.ID == id }); i >= 0 {
		return &c.job.Pieces[i]
	}
	return nil
}

// Limits beyond which a typed value cannot be what its key says. They are wide on purpose: within them a strange value
// is a matter for a warning.
const (
	lowestAir   = 30e3   // below the air pressure of any shop [Pa]
	highestAir  = 120e3  // above it [Pa]
	coldest     = 233.15 // −40 °C [K]
	hottest     = 353.15 // 80 °C [K]
	highestTest = 60e3   // above the pressure drop any bench of this kind can hold [Pa]
)

func (c *checker) ratio(file, key string, x float64) {
	if x < 0 || x > 1 {
		c.add(file, key, fmt.Sprintf("%s is %.6g %%", last(key), 100*x), `write between "0 %" and "100 %"`)
	}
}

func (c *checker) notNegative(file, key, name string, x float64) {
	if x < 0 {
		c.add(file, key, name+" is negative", "write a value above zero")
	}
}

func (c *checker) positive(file, key, name string, x float64) {
	if x <= 0 {
		c.add(file, key, name+" is not above zero", "write a value above zero")
	}
}

func (c *checker) testPressure(file, key string, x float64, optional bool) {
	switch {
	case x == 0 && optional:
	case x <= 0:
		c.add(file, key, fmt.Sprintf("test pressure of %.6g Pa is not above zero", x), `write the pressure drop across the piece without its sign, like "28 inH2O"`)
	case x > highestTest:
		c.add(file, key, fmt.Sprintf("test pressure of %.6g kPa is more than a bench can hold", x/1e3), `write the pressure drop across the piece, not an absolute pressure, like "28 inH2O"`)
	}
}

func (c *checker) airPressure(file, key string, x float64, optional bool) {
	if (x == 0 && optional) || (x >= lowestAir && x <= highestAir) {
		return
	}
	c.add(file, key, fmt.Sprintf("%.6g kPa is no absolute air pressure", x/1e3), `write the barometer's reading at the shop, not reduced to sea level, like "101.3 kPa"`)
}

func (c *checker) airTemperature(file, key string, x float64, optional bool) {
	if (x == 0 && optional) || (x >= coldest && x <= hottest) {
		return
	}
	c.add(file, key, fmt.Sprintf("%.6g °C is no temperature of the air in a room", x-273.15), `write it like "20 °C"`)
}

// last returns the last word of a path of keys.
func last(key string) string {
	for i := len(key) - 1; i >= 0; i-- {
		if key[i] == '.' {
			return key[i+1:]
		}
	}
	return key
}
