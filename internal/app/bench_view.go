package app

import (
	"math"
	"slices"
	"time"

	"runnel/bench"
	"runnel/job"
)

// A BenchView is the live bench as a page shows it, beside the needle.
type BenchView struct {
	Open      bool   `json:"open"`
	Job       string `json:"job,omitempty"`
	Title     string `json:"title,omitempty"`
	Invented  bool   `json:"invented"`
	Sitting   string `json:"sitting,omitempty"`
	Simulated bool   `json:"simulated"` // the sensors are those of a rig in this program
	Card      string `json:"card"`      // whose bench card it is: "a copy of the shop's bench card"

	Task   string         `json:"task"`    // the step that is being done
	Taking bool           `json:"taking"`  // a reading is on its way
	Since  float64        `json:"since_s"` // when it was begun, in time of the session [s]
	Steps  []BenchStep    `json:"steps"`
	Queue  []Queued       `json:"queue"`
	Chosen int            `json:"chosen"` // place in the queue; −1: none
	Left   int            `json:"left"`
	Plan   BenchPlan      `json:"plan"`
	Rig    BenchRig       `json:"rig"`
	Pic    []BenchOpening `json:"openings"`
	Kept   *BenchKept     `json:"kept"`
	Air    BenchAir       `json:"air"`
	Leak   *float64       `json:"leakage_m3_s"`    // at the reference test pressure and the room's air [m³/s]; null: not known
	Plate  *float64       `json:"check_deviation"` // worst of the check plate [-]; null: not flowed
	Known  float64        `json:"check_plate_m2"`  // [m²]
	Marks  []string       `json:"marks"`

	Message string `json:"message,omitempty"` // what was just done
	Problem string `json:"problem,omitempty"` // why the sitting cannot correct readings
}

// A BenchStep is a step of the sitting.
type BenchStep struct {
	Key   string    `json:"key"`
	State StepState `json:"state"`
	Why   string    `json:"why,omitempty"`
}

// A BenchRig is the set-up of the next reading.
type BenchRig struct {
	ID       string   `json:"id"`
	Piece    string   `json:"piece"`
	Kind     string   `json:"kind"`
	Round    string   `json:"round"`
	Entry    string   `json:"entry"`
	Meter    string   `json:"meter"`
	Blanked  string   `json:"blanked"`
	Fitted   []string `json:"fitted"`
	Adaptor  string   `json:"adaptor"`
	Note     string   `json:"note"`
	Pressure float64  `json:"test_pressure_pa"` // pressure drop to hold [Pa]; 0: any
	Band     float64  `json:"band"`             // half width of its band [-]
	Lift     float64  `json:"lift_m"`           // [m]
}

// A BenchOpening is an opening in the picture of the set-up.
type BenchOpening struct {
	Name string `json:"name"`
	Open bool   `json:"open"`
}

// A BenchAir is the room's air and how old it is.
type BenchAir struct {
	Pressure    float64 `json:"pressure_pa"`   // [Pa]
	Temperature float64 `json:"temperature_k"` // [K]
	Humidity    float64 `json:"rh"`            // [-]
	Age         float64 `json:"age_s"`         // [s]
	Limit       float64 `json:"limit_s"`       // age beyond which it is stale [s]
	Live        bool    `json:"live"`          // sensors speak for the room
}

// A BenchKept is what was kept last.
type BenchKept struct {
	Task    string    `json:"task"`
	ID      string    `json:"id"` // of the reading; the count of the record else
	Opening string    `json:"opening,omitempty"`
	Lift    float64   `json:"lift_m"`            // [m]
	Flow    float64   `json:"flow_m3_s"`         // [m³/s]
	U       float64   `json:"u_flow_m3_s"`       // half of the 95 % interval [m³/s]
	Area    float64   `json:"effective_area_m2"` // [m²]
	Seq     uint64    `json:"seq"`
	Undone  bool      `json:"undone"`
	At      time.Time `json:"at"`
}

// view is called with the lock held.
func (d *desk) view() BenchView {
	s, err := sittingOf(d.facts, d.sitting)
	v := BenchView{
		Open: true, Job: d.facts.ID, Title: d.facts.Title, Invented: d.facts.Invented, Sitting: d.sitting, Simulated: d.rig != nil,
		Card: d.whose, Task: d.task, Taking: d.taking != nil, Chosen: -1, Plan: d.plan, Kept: d.kept, Message: d.message, Problem: d.problem,
		Known: d.facts.Bench.CheckPlate.EffectiveArea, Steps: []BenchStep{}, Queue: []Queued{}, Pic: []BenchOpening{}, Marks: []string{},
	}
	if err != nil {
		v.Problem = err.Error()
		return v
	}
	if d.taking != nil {
		v.Since = d.taking.from.Seconds()
	}
	w := Walk{Facts: d.facts, Sitting: s}
	w.judge(d.app.now())
	for _, st := range w.Steps {
		v.Steps = append(v.Steps, BenchStep{Key: st.Key, State: st.State, Why: st.Why})
	}
	v.Marks = append(v.Marks, w.Marks...)
	v.Queue = append(v.Queue, d.plan.queue(s)...)
	for _, q := range v.Queue {
		if q.Reading == "" {
			v.Left++
		}
	}
	if d.chosen >= 0 && d.chosen < len(v.Queue) {
		v.Chosen = d.chosen
	}
	v.Rig, v.Pic = d.setting()
	v.Air = roomNow(d.facts.Bench, d.card, s, d.app.now())
	v.Leak, v.Plate = leakNow(d.sit, d.ref), plateNow(d.sit)
	return v
}

// setting is how the bench has to be set up for what is taken next.
func (d *desk) setting() (BenchRig, []BenchOpening) {
	it, ok := d.itemNow()
	if !ok && len(d.facts.Rigs) > 0 {
		it = BenchItem{Rig: d.facts.Rigs[0].ID}
	}
	g, _ := rigCard(d.facts, it.Rig)
	piece, _ := pieceOfRig(d.facts, it.Rig)
	r := BenchRig{
		ID: g.ID, Piece: orWord(piece.Title, piece.ID), Kind: piece.Kind, Round: it.Round, Entry: orWord(g.Entry, "bare"), Meter: g.Meter,
		Blanked: g.Blanked, Fitted: slices.Clone(g.Fitted), Adaptor: g.Adaptor, Note: g.Note, Pressure: g.TestPressure, Band: holdBand, Lift: it.Lift,
	}
	for _, x := range d.facts.Rounds {
		if x.ID == it.Round {
			r.Round = orWord(x.Title, x.ID)
		}
	}
	if d.task != StepReadings {
		r.Meter = meterOf(d.facts, d.plan)
	}
	if d.task == StepZero || d.task == StepLeakage {
		r.Pressure = 0
	}
	pic := []BenchOpening{}
	for _, o := range piece.Openings {
		pic = append(pic, BenchOpening{Name: o, Open: d.task == StepReadings && ok && o == it.Opening})
	}
	return r, pic
}

// roomNow is the room's air as the next reading takes it.
func roomNow(card, live job.Bench, s job.Sitting, now time.Time) BenchAir {
	a := BenchAir{Age: max(0, AirAge(s, now).Seconds()), Limit: orElse(card.AirAge, 3600)}
	newest := -1
	for i, r := range s.Air {
		if newest < 0 || !r.At.Before(s.Air[newest].At) {
			newest = i
		}
	}
	if newest >= 0 {
		r := s.Air[newest]
		a.Pressure, a.Temperature, a.Humidity = r.Pressure, r.Temperature, r.Humidity
	}
	have := 0
	for _, x := range live.Sensors {
		if x.Source != "" && slices.Contains([]string{"air_pressure", "air_temp", "air_rh"}, x.Role) {
			have++
		}
	}
	a.Live = have == 3
	return a
}

func leakNow(sit *bench.Sitting, ref bench.Reference) *float64 {
	if sit == nil || sit.Leakage.Points == 0 {
		return nil
	}
	q, _, _ := sit.Leakage.At(ref.TestPressure)
	return &q
}

func plateNow(sit *bench.Sitting) *float64 {
	if sit == nil || len(sit.Checks) == 0 {
		return nil
	}
	worst := sit.Checks[0].Deviation
	for _, c := range sit.Checks {
		if math.Abs(c.Deviation) > math.Abs(worst) {
			worst = c.Deviation
		}
	}
	return &worst
}
