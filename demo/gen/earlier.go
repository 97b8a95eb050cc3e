package main

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"time"

	"runnel/job"
	"runnel/unit"
)

// earlierFolder is where the job of the winter before lies: it gives the check plate of the bench a history.
const earlierFolder = "earlier"

// What is true of the winter before.
const (
	weeks     = 8      // a sitting every Saturday
	plateSeat = 0.0008 // standard deviation of seating the check plate anew, relative in flow [-]
	holeArea  = 760e-6 // effective area of a spacer's hole [m²]
	holeWidth = 0.004  // standard deviation from spacer to spacer [-]
)

// simulateEarlier is the job of the winter before: eight spacers, one each Saturday, with the check plate before and after. It draws from
// numbers of its own, so that it does not move the demo job.
func simulateEarlier() (*simulation, error) {
	s := &simulation{job: earlierFacts(), rand: rand.New(rand.NewPCG(seed, 3)), alone: rand.New(rand.NewPCG(seed, 4))}
	s.job.Sittings = make([]job.Sitting, weeks)
	s.job.Traces = map[string]job.Trace{}
	for i := range weeks {
		from := saturday(i)
		id := fmt.Sprintf("week-%d", i+1)
		p := s.spell(i, job.Sitting{ID: id, At: from, By: "demo operator (invented)", File: "sittings/" + id + ".toml"}, 4*time.Minute)
		p.leakK, p.leakN = leak(1.3+0.1*s.rand.NormFloat64(), 0.59), 0.59
		p.zeros = [2][2]float64{{3 + s.rand.NormFloat64(), s.rand.NormFloat64()}, {3 + s.rand.NormFloat64(), s.rand.NormFloat64()}}
		p.seat = plateSeat * s.rand.NormFloat64()
		barometer, warm := 99500+900*s.rand.NormFloat64(), 17+1.5*s.rand.NormFloat64()
		p.sitting.Air = air(p.from, 20*time.Minute, [][3]float64{
			{round(barometer, 0.1), round(warm, 10), 48}, {round(barometer-20, 0.1), round(warm+0.5, 10), 47}, {round(barometer-30, 0.1), round(warm+0.9, 10), 46},
		})
		if err := s.open(p); err != nil {
			return nil, err
		}
		hole := holeArea * (1 + holeWidth*s.rand.NormFloat64())
		for range 2 {
			if err := s.take(p, take{rig: "spacer", round: "made", opening: strconv.Itoa(i + 1), plate: "plate-60", area: hole, target: testPressure}); err != nil {
				return nil, err
			}
		}
		p.seat = plateSeat * s.rand.NormFloat64()
		if err := s.close(p); err != nil {
			return nil, err
		}
	}
	return s, nil
}

// saturday is the morning of a sitting, counted from the first.
func saturday(i int) time.Time { return time.Date(2026, time.January, 10+7*i, 9, 0, 0, 0, time.UTC) }

func earlierFacts() job.Job {
	var holes []string
	for i := range weeks {
		holes = append(holes, strconv.Itoa(i+1))
	}
	return job.Job{
		Format: job.Format, ID: "winter-spacers", Title: "Eight spacers, flowed as they were made", Invented: true, BookedIn: saturday(0).Truncate(24 * time.Hour),
		Shop: job.Shop{Name: "Demo porting shop (invented)", Place: "Nowhere in particular"},
		Customer: job.Customer{
			Name: "Demo club (invented)", AskedFor: "A spacer a week through the winter. Say whether they come out alike.",
		},
		Reference: job.Reference{TestPressure: testPressure, Pressure: 101325, Temperature: unit.Temperature.Of(20, "°C"), SmallestChange: 0.005},
		Pieces:    []job.Piece{{ID: "spacers", Kind: "spacer", Title: "Phenolic spacers", Openings: holes}},
		Rounds:    []job.Round{{ID: "made", Piece: "spacers", Title: "As made", Date: saturday(0).Truncate(24 * time.Hour)}},
		Rigs: []job.RigCard{{
			ID: "spacer", Piece: "spacers", Meter: "plate-60", TestPressure: testPressure, Direction: "in", Entry: "radiused", EntryRadius: mm(12), EntryBore: mm(36),
			Blanked: "nothing", Adaptor: "flat plate",
		}},
		Bench: bench(),
	}
}
