package job

import (
	"time"

	"runnel/passage"
)

// Format is the first key of job.toml: the version of the job folder.
const Format = "runnel-job/1"

// A Job is everything that is known of one customer's piece of work. All of it is fact.
type Job struct {
	Format    string    `toml:"format" need:"yes"`
	ID        string    `toml:"id" need:"yes"`    // short name, lower case, digits and dashes
	Title     string    `toml:"title" need:"yes"` // what the job is called
	Invented  bool      `toml:"invented"`         // demo data: marked wherever it is shown
	BookedIn  time.Time `toml:"booked_in"`        // day the work came in
	Shop      Shop      `toml:"shop"`             // who does the work
	Customer  Customer  `toml:"customer" need:"yes"`
	Reference Reference `toml:"reference"`          // what flows are stated at
	Engine    *Engine   `toml:"engine"`             // what the pieces feed; nil when not known
	Tract     []string  `toml:"tract" ref:"pieces"` // piece ids in the order the air meets them
	Pieces    []Piece   `toml:"pieces" need:"yes"`
	Rounds    []Round   `toml:"rounds" need:"yes"`
	Rigs      []RigCard `toml:"rigs" need:"yes"`
	Compare   []Compare `toml:"compare"` // comparisons the job promises an answer to; empty: first against last round of every piece

	Bench    Bench                  `toml:"-"` // bench.toml
	Sittings []Sitting              `toml:"-"` // sittings/*.toml in name order
	Traces   map[string]Trace       `toml:"-"` // traces/*.csv by the path in the reading, "traces/r01.csv"
	Sections map[string]SectionFile `toml:"-"` // sections/*.csv by the path in the piece, "sections/runner-1.csv"
}

// A Shop is who did the work; it heads the handover.
type Shop struct {
	Name  string `toml:"name"`
	Place string `toml:"place"`
}

// A Customer is who sent the work in.
type Customer struct {
	Name     string `toml:"name" need:"yes"`
	Contact  string `toml:"contact"`
	AskedFor string `toml:"asked_for"` // in the customer's words
}

// A Reference is the air and the test pressure that flows of the job are stated at.
// The zero value of a field means the default: 28 inH2O, 101 325 Pa, 20 °C, dry.
type Reference struct {
	TestPressure   float64 `toml:"test_pressure" dim:"pressure"` // pressure drop flows are stated at [Pa]
	Pressure       float64 `toml:"pressure" dim:"pressure"`      // absolute air pressure [Pa]
	Temperature    float64 `toml:"temp" dim:"temperature"`       // air temperature [K]
	Humidity       float64 `toml:"rh" dim:"ratio"`               // relative humidity [-]
	SmallestChange float64 `toml:"smallest_change" dim:"ratio"`  // smallest change worth claiming [-], default 0.005
}

// A Piece is the thing worked on or flowed with it.
type Piece struct {
	ID        string            `toml:"id" need:"yes" id:"pieces"`
	Kind      string            `toml:"kind" need:"yes" oneof:"manifold,head,throttle_body,spacer,plenum"`
	Title     string            `toml:"title"`
	Material  string            `toml:"material"`                // alloy, free text
	Openings  []string          `toml:"openings" need:"yes"`     // runners by cylinder number; one name for a throttle body
	ExitArea  float64           `toml:"exit_area" dim:"area"`    // section where one opening leaves the piece [m²]; 0 not known
	CarriedOn float64           `toml:"carried_on" dim:"ratio"`  // share of the exit head carried into the next piece [-]: 0 into a plenum, up to 1 in a matched joint
	LeastWall float64           `toml:"least_wall" dim:"length"` // thinnest wall the user allows [m]; 0 not set
	Sections  map[string]string `toml:"sections"`                // opening → "sections/….csv"
}

// A SectionFile is the stations of one passage as they were typed, and as they were read.
type SectionFile struct {
	Text     string            // the CSV, see passage.ReadStations
	Stations []passage.Station // in order from the entry
}

// A Round is one state of a piece in the rework.
type Round struct {
	ID    string    `toml:"id" need:"yes" id:"rounds"`
	Piece string    `toml:"piece" need:"yes" ref:"pieces"`
	Title string    `toml:"title"`
	Date  time.Time `toml:"date"`
	Did   string    `toml:"did"` // what was done to reach this state
}

// A RigCard is the exact set-up of a test. Two readings are like for like when their cards match.
type RigCard struct {
	ID           string   `toml:"id" need:"yes" id:"rigs"`
	Piece        string   `toml:"piece" need:"yes" ref:"pieces"`
	Meter        string   `toml:"meter" need:"yes" ref:"meters"`           // meter or plate in use
	TestPressure float64  `toml:"test_pressure" need:"yes" dim:"pressure"` // nominal pressure drop across the piece [Pa]
	Direction    string   `toml:"direction" oneof:"in,out"`                // "in": as the engine draws; default in
	Entry        string   `toml:"entry" oneof:"bare,radiused"`             // default bare
	EntryRadius  float64  `toml:"entry_radius" dim:"length"`               // radius of a radiused entry [m]
	EntryBore    float64  `toml:"entry_bore" dim:"length"`                 // bore, or equivalent diameter, at the entry [m]
	Blanked      string   `toml:"blanked"`                                 // what is closed, in words: "all other openings"
	Fitted       []string `toml:"fitted" ref:"pieces"`                     // ids of pieces fitted upstream during the test, such as a throttle body
	Adaptor      string   `toml:"adaptor"`                                 // bore adaptor or exit stub
	Note         string   `toml:"note"`
}

// A Compare asks for the verdict between two rounds of a piece.
type Compare struct {
	From    string `toml:"from" need:"yes" ref:"rounds"`
	To      string `toml:"to" need:"yes" ref:"rounds"`
	FromRig string `toml:"from_rig" ref:"rigs"` // empty: any card both rounds share
	ToRig   string `toml:"to_rig" ref:"rigs"`
}
