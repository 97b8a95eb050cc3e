package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"time"

	"runnel/gas"
	"runnel/job"
	"runnel/meter"
	"runnel/unit"
)

const seed = 20260307

// A simulation is the demo as it grows, reading by reading.
type simulation struct {
	job   job.Job
	truth bytes.Buffer
	rand  *rand.Rand
	alone *rand.Rand // of what may not move the rest
	count int
}

// A spell is what the simulation knows of one sitting.
type spell struct {
	sitting  *job.Sitting
	now      time.Time
	pace     time.Duration // from one reading to the next
	leakK    float64       // [m³/(s·Paⁿ)]
	leakN    float64       // [-]
	zeros    [2][2]float64 // meter and test sensor at the begin and the end [Pa]
	from, to time.Time
	seat     float64 // luck of seating the check plate, relative in flow [-]
}

func simulate() (*simulation, error) {
	s := &simulation{job: facts(), rand: rand.New(rand.NewPCG(seed, 1)), alone: rand.New(rand.NewPCG(seed, 2))} // the one seed of the demo
	s.truth.WriteString("# Invented. What the simulated bench of the demo really had on it. effective_area_m2 is the piece, as_mounted_m2 the same\n" +
		"# with the luck of that clamping. It is no part of the job folder.\n" +
		"reading,sitting,rig,round,opening,lift_m,effective_area_m2,as_mounted_m2\n")
	s.job.Sittings = make([]job.Sitting, 2)
	s.job.Traces = map[string]job.Trace{}
	if err := s.first(); err != nil {
		return nil, err
	}
	return s, s.second()
}

// first is the spell in which the intake was flowed as received and roughed, with the head and the throttle body.
func (s *simulation) first() error {
	p := s.spell(0, job.Sitting{ID: "march-07", At: at(7, 8, 0), By: "demo operator (invented)", File: "sittings/1-march-07.toml"}, 2*time.Minute+30*time.Second)
	p.leakK, p.leakN = leak(1.25, 0.58), 0.58
	p.zeros = [2][2]float64{{3.5, -4.0}, {4.6, -2.5}}
	p.sitting.Air = air(p.from, 45*time.Minute, [][3]float64{{98640, 19.6, 46}, {98610, 20.4, 45}, {98590, 21.1, 43}, {98560, 21.7, 42}, {98540, 22.2, 41}, {98530, 22.5, 41}, {98500, 22.7, 40}})
	if err := s.open(p); err != nil {
		return err
	}
	steps := []func() error{
		func() error { return s.runners(p, "received", "runner-bare", 2, none) },
		func() error { return s.runners(p, "received", "runner-radiused", 3, frozen) },
		func() error { return s.head(p) },
		func() error { return s.body(p) },
		p.pause(90 * time.Minute), // roughing
		func() error { return s.runners(p, "roughed", "runner-radiused", 3, none) },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return s.close(p)
}

// second is the spell after the welding.
func (s *simulation) second() error {
	p := s.spell(1, job.Sitting{ID: "march-28", At: at(28, 8, 30), By: "demo operator (invented)", File: "sittings/2-march-28.toml", Note: "Finishing was done between the readings of the two rounds, on the same day."}, 3*time.Minute)
	p.leakK, p.leakN = leak(1.6, 0.61), 0.61
	p.zeros = [2][2]float64{{-2.0, 1.5}, {-1.2, 3.0}}
	p.sitting.Air = air(p.from, 45*time.Minute, [][3]float64{{100120, 17.8, 52}, {100150, 18.5, 51}, {100170, 19.3, 49}, {100180, 19.9, 48}, {100190, 20.4, 47}, {100180, 20.8, 46}, {100160, 21.1, 46}})
	if err := s.open(p); err != nil {
		return err
	}
	steps := []func() error{
		func() error { return s.runners(p, "welded", "runner-radiused", 3, knock) },
		p.pause(2 * time.Hour), // finishing
		func() error { return s.runners(p, "finished", "runner-radiused", 3, none) },
		func() error { return s.runners(p, "finished", "runner-bare", 2, none) },
	}
	for _, step := range steps {
		if err := step(); err != nil {
			return err
		}
	}
	return s.close(p)
}

func (s *simulation) spell(i int, sitting job.Sitting, pace time.Duration) *spell {
	s.job.Sittings[i] = sitting
	return &spell{sitting: &s.job.Sittings[i], now: sitting.At, from: sitting.At, to: sitting.At.Add(5 * time.Hour), pace: pace}
}

// pause lets time pass while the piece is off the bench.
func (p *spell) pause(d time.Duration) func() error {
	return func() error {
		p.now = p.now.Add(d)
		return nil
	}
}

// leak returns k of the leakage k·dp^n that lets cfm through at 28 inH2O.
func leak(cfm, n float64) float64 {
	return unit.VolumeFlow.Of(cfm, "cfm") / math.Pow(testPressure, n)
}

// air writes air records at even times. Each row is pressure [Pa], temperature [°C] and humidity [%].
func air(from time.Time, every time.Duration, rows [][3]float64) []job.AirRecord {
	var out []job.AirRecord
	for i, r := range rows {
		out = append(out, job.AirRecord{
			At: from.Add(time.Duration(i) * every), Pressure: r[0], Temperature: unit.Temperature.Of(r[1], "°C"), Humidity: unit.Ratio.Of(r[2], "%"),
			UPressure: 40, UTemp: 0.2, UHumidity: 0.02,
		})
	}
	return out
}

// room is the true air at an instant: the records along straight lines, less what the instruments are off by.
func (p *spell) room(t time.Time) (gas.Air, error) {
	rec := p.sitting.Air
	i := 0
	for i < len(rec)-2 && t.After(rec[i+1].At) {
		i++
	}
	x := min(float64(t.Sub(rec[i].At))/float64(rec[i+1].At.Sub(rec[i].At)), 1)
	between := func(a, b float64) float64 { return a + x*(b-a) }
	return gas.MoistAir{
		Pressure:    between(rec[i].Pressure, rec[i+1].Pressure) - 25,
		Temperature: between(rec[i].Temperature, rec[i+1].Temperature) + 0.1,
		Humidity:    between(rec[i].Humidity, rec[i+1].Humidity) - 0.01,
		CO2:         gas.StandardCO2,
	}.Properties()
}

// rig sets the bench up for an instant with one of its plates.
func (s *simulation) rig(p *spell, plate string) (*rig, error) {
	room, err := p.room(p.now)
	if err != nil {
		return nil, err
	}
	bore := mm(60)
	if plate == "plate-35" {
		bore = mm(35)
	}
	x := float64(p.now.Sub(p.from)) / float64(p.to.Sub(p.from))
	return &rig{
		air: room, plate: meter.Orifice{Throat: meter.Throat{Pipe: mm(100), Bore: bore}, Taps: meter.Corner},
		leakK: p.leakK, leakN: p.leakN,
		meterZero: p.zeros[0][0] + x*(p.zeros[1][0]-p.zeros[0][0]), testZero: p.zeros[0][1] + x*(p.zeros[1][1]-p.zeros[0][1]),
	}, nil
}

// open takes zeros, leakage and the check plate before the first reading.
func (s *simulation) open(p *spell) error {
	s.zero(p, 0)
	// The pressure of the throttle body has a draw of its own and half a minute before the others, which leaves all later traces as they were.
	s.leakage(p, p.now.Add(30*time.Second), bodyPressure, s.alone.NormFloat64())
	for _, inches := range []float64{10, 15, 20, 28} {
		p.now = p.now.Add(time.Minute)
		s.leakage(p, p.now, unit.Pressure.Of(inches, "inH2O"), s.rand.NormFloat64())
	}
	return s.check(p)
}

// leakage reads the leakage at a test pressure [Pa], with the given luck in standard deviations.
func (s *simulation) leakage(p *spell, at time.Time, dp, luck float64) {
	q := p.leakK * math.Pow(dp, p.leakN) * (1 + 0.015*luck)
	p.sitting.Leakage = append(p.sitting.Leakage, job.LeakPoint{At: at, TestPressure: dp, Flow: unit.VolumeFlow.Of(round(unit.VolumeFlow.In(q, "cfm"), 100), "cfm")})
}

// close takes the check plate and the zeros after the last reading.
func (s *simulation) close(p *spell) error {
	if err := s.check(p); err != nil {
		return err
	}
	p.now = p.now.Add(p.pace)
	s.zero(p, float64(p.now.Sub(p.from))/float64(p.to.Sub(p.from)))
	return nil
}

func (s *simulation) zero(p *spell, x float64) {
	meterZero := p.zeros[0][0] + x*(p.zeros[1][0]-p.zeros[0][0]) + 0.2*s.rand.NormFloat64()
	testZero := p.zeros[0][1] + x*(p.zeros[1][1]-p.zeros[0][1]) + 0.3*s.rand.NormFloat64()
	p.sitting.Zero = append(p.sitting.Zero,
		job.ZeroRecord{At: p.now, Channel: "meter_dp", Value: strconv.FormatFloat(round(meterZero, 10), 'f', 1, 64) + " Pa"},
		job.ZeroRecord{At: p.now, Channel: "test_dp", Value: strconv.FormatFloat(round(unit.Pressure.In(testZero, "inH2O"), 1000), 'f', 3, 64) + " inH2O"})
}

func (s *simulation) check(p *spell) error {
	p.now = p.now.Add(p.pace)
	g, err := s.rig(p, "plate-60")
	if err != nil {
		return err
	}
	t, err := g.trace(s.rand, plateArea*trueCheck*(1+p.seat), testPressure, none)
	if err != nil {
		return err
	}
	name := fmt.Sprintf("traces/check-%s-%d.csv", p.sitting.ID, len(p.sitting.Checks)+1)
	s.job.Traces[name] = t
	p.sitting.Checks = append(p.sitting.Checks, job.PlateCheck{At: p.now, Trace: name, Meter: "plate-60"})
	return nil
}

// A take is one reading to be taken.
type take struct {
	rig, round, opening, plate string
	lift, area, target         float64
	fault                      fault
	note                       string
}

func (s *simulation) take(p *spell, k take) error {
	s.count++
	p.now = p.now.Add(p.pace)
	g, err := s.rig(p, k.plate)
	if err != nil {
		return err
	}
	mounted := k.area * (1 + clamping*s.rand.NormFloat64())
	t, err := g.trace(s.rand, mounted, k.target, k.fault)
	if err != nil {
		return err
	}
	id := fmt.Sprintf("r%03d", s.count)
	name := "traces/" + id + ".csv"
	s.job.Traces[name] = t
	p.sitting.Readings = append(p.sitting.Readings, job.Reading{
		ID: id, Rig: k.rig, Round: k.round, Opening: k.opening, Lift: k.lift, At: p.now, Trace: name, Note: k.note,
	})
	fmt.Fprintf(&s.truth, "%s,%s,%s,%s,%s,%g,%.9g,%.9g\n", id, p.sitting.ID, k.rig, k.round, k.opening, k.lift, k.area, mounted)
	return nil
}

// runners flows every runner of the intake several times, one after the other, all runners before the next repeat.
// A fault comes over the second repeat of runner 3; a frozen sensor is noticed, and the reading is taken again.
func (s *simulation) runners(p *spell, round, rig string, repeats int, f fault) error {
	flows := bareFlow(round)
	for n := range repeats {
		for i, cfm := range flows {
			a, err := area(cfm)
			if err != nil {
				return err
			}
			if rig == "runner-radiused" {
				if a, err = withEntry(a); err != nil {
					return err
				}
			}
			k := take{rig: rig, round: round, opening: strconv.Itoa(i + 1), plate: "plate-60", area: a, target: testPressure}
			if n == 1 && i == 2 {
				k.fault = f
			}
			if k.fault == frozen {
				if err := s.take(p, k); err != nil {
					return err
				}
				k.fault, k.note = none, "Taken again: the meter gauge had stopped moving."
			}
			if err := s.take(p, k); err != nil {
				return err
			}
		}
	}
	return nil
}

// head flows cylinders 1 and 4 over lift, and cylinder 1 at 10 mm three times in all.
func (s *simulation) head(p *spell) error {
	for _, cylinder := range []int{1, 4} {
		for _, lift := range []float64{2, 4, 6, 8, 10, 12, 13} {
			repeats := 1
			if cylinder == 1 && lift == 10 {
				repeats = 3
			}
			k := take{rig: "head-large-plate", plate: "plate-60", round: "head-received", opening: strconv.Itoa(cylinder), lift: mm(lift), area: headArea(mm(lift), cylinder), target: testPressure}
			if lift < 5 {
				k.rig, k.plate = "head-small-plate", "plate-35"
			}
			for range repeats {
				if err := s.take(p, k); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (s *simulation) body(p *spell) error {
	for range 3 {
		if err := s.take(p, take{rig: "body-open", plate: "plate-60", round: "body-received", opening: "bore", area: bodyArea(), target: bodyPressure}); err != nil {
			return err
		}
	}
	return nil
}
