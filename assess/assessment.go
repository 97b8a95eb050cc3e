package assess

// Version is the number that goes up when any computed result may change: it is part of the cache key of an assessment.
const Version = 6

// An Assessment is everything derived from a job. Its JSON is the output of "runnel solve --json".
type Assessment struct {
	Job         string        `json:"job"`
	Title       string        `json:"title"`
	Invented    bool          `json:"invented"` // demo data: shown wherever the assessment is shown
	Reference   Reference     `json:"reference"`
	Sittings    []Sitting     `json:"sittings"`
	Readings    []Reading     `json:"readings"`
	Verdicts    []Verdict     `json:"verdicts"`
	Match       []Match       `json:"match"`
	Restriction []Restriction `json:"restriction"`
	Pull        *Pull         `json:"pull"` // nil when the engine is not known
	Warnings    []string      `json:"warnings"`
}

// Reference is the air and test pressure flows are stated at.
type Reference struct {
	TestPressure   float64 `json:"test_pressure_pa"` // pressure drop [Pa]
	Pressure       float64 `json:"pressure_pa"`      // absolute air pressure [Pa]
	Temperature    float64 `json:"temp_k"`           // air temperature [K]
	Humidity       float64 `json:"rh_ratio"`         // relative humidity [-]
	Density        float64 `json:"density_kg_m3"`    // of that air [kg/m³]
	SmallestChange float64 `json:"smallest_change"`  // worth claiming [-]
}

// A Sitting is the state of the bench during one spell.
type Sitting struct {
	ID             string    `json:"id"`
	Density        float64   `json:"density_kg_m3"`   // of the room's air [kg/m³]
	LeakK          float64   `json:"leak_k"`          // k of the leakage fit k·dp^n [m³/(s·Paⁿ)]
	LeakN          float64   `json:"leak_n"`          // n of the leakage fit [-]
	LeakFlow       float64   `json:"leak_flow_m3_s"`  // leakage at the reference test pressure [m³/s]
	CheckDeviation []float64 `json:"check_deviation"` // check plate read over known, less one [-], in order of time
	Marks          []string  `json:"marks"`           // what is wrong with the sitting; travels with its readings
}

// A Reading is one corrected reading.
type Reading struct {
	ID            string       `json:"id"`
	Sitting       string       `json:"sitting"`
	Rig           string       `json:"rig"`
	Piece         string       `json:"piece"`
	Round         string       `json:"round"`
	Opening       string       `json:"opening"`
	Entry         string       `json:"entry"`              // bare or radiused
	Lift          float64      `json:"lift_m"`             // valve lift [m]
	Usable        bool         `json:"usable"`             // false: refused or void; Refused says why
	Refused       string       `json:"refused,omitempty"`  // why the reading does not count
	EffectiveArea float64      `json:"effective_area_m2"`  // [m²]
	MassFlow      float64      `json:"mass_flow_kg_s"`     // through the piece, leakage taken off [kg/s]
	Flow          float64      `json:"flow_m3_s"`          // at reference air and test pressure [m³/s]
	FlowCFM       float64      `json:"flow_cfm"`           // the same [ft³/min]
	FlowSqrtRule  float64      `json:"flow_sqrt_rule_cfm"` // the same by the square-root rule [ft³/min]
	TestPressure  float64      `json:"test_pressure_pa"`   // mean pressure drop as taken [Pa]
	URel          float64      `json:"u_rel"`              // combined standard uncertainty, relative [-]
	UExpandedRel  float64      `json:"u_expanded_rel"`     // expanded at 95 %, relative [-]
	CoverageK     float64      `json:"coverage_k"`         // coverage factor [-]
	Dof           float64      `json:"dof"`                // effective degrees of freedom [-]; -1: very many
	URepeat       float64      `json:"u_settling_rel"`     // type A part from settling, relative [-]
	Peak          float64      `json:"peak_cfm"`           // peak of the needle at the same reference [ft³/min]
	WaverRel      float64      `json:"waver_rel"`          // two standard deviations of the needle over its mean [-]
	NEff          float64      `json:"n_eff"`              // effective number of samples [-]
	SteadyFrom    float64      `json:"steady_from_s"`      // steady part of the trace [s]
	SteadyTo      float64      `json:"steady_to_s"`        // [s]
	Trace         string       `json:"trace"`
	Budget        []BudgetLine `json:"budget"`
	Warnings      []string     `json:"warnings"`
}

// A BudgetLine is one cause of uncertainty.
type BudgetLine struct {
	Quantity     string  `json:"quantity"`
	Estimate     float64 `json:"estimate"` // in Unit
	U            float64 `json:"u"`        // standard uncertainty, in Unit
	Unit         string  `json:"unit"`
	Kind         string  `json:"kind"` // "A" or "B" as in JCGM 100
	Distribution string  `json:"distribution"`
	Dof          float64 `json:"dof"`         // degrees of freedom [-]; -1: very many
	Sensitivity  float64 `json:"sensitivity"` // relative change of effective area [1/Unit]
	Share        float64 `json:"share"`       // share of the variance [-]
}

// A Verdict answers "did it really help?" for one opening, or for all openings together when Opening is empty.
type Verdict struct {
	Piece         string   `json:"piece"`
	From          string   `json:"from"` // round
	To            string   `json:"to"`   // round
	FromRig       string   `json:"from_rig"`
	ToRig         string   `json:"to_rig"`
	Opening       string   `json:"opening"` // empty: the mean of all openings, or of those in Over
	Over          []string `json:"over"`    // where not all openings were flowed on both sides: those that were, of which alone the mean is
	Lift          float64  `json:"lift_m"`  // valve lift [m]
	NFrom         int      `json:"n_from"`
	NTo           int      `json:"n_to"`
	FromFlow      float64  `json:"from_flow_m3_s"`    // mean flow before [m³/s]
	ToFlow        float64  `json:"to_flow_m3_s"`      // mean flow after [m³/s]
	Ratio         float64  `json:"ratio"`             // effective area after over before [-]
	Lo95          float64  `json:"lo95"`              // [-]
	Hi95          float64  `json:"hi95"`              // [-]
	Word          string   `json:"word"`              // "proven gain", "proven loss", "no proven change", "the same within 0.5 %"; "not comparable" when refused
	Refused       string   `json:"refused,omitempty"` // why the two are not like for like
	Bridged       []string `json:"bridged"`           // what was bridged, with its uncertainty
	Cancelled     []string `json:"cancelled"`         // what the two share, so that it drops out
	Provable      float64  `json:"provable_rel"`      // smallest gain that as many repeats as were made prove (power 0.8) [-]; 0: one on a side
	RepeatsNeeded int      `json:"repeats_needed"`    // repeats each side that would settle an open verdict, if the change is what it looks like (power 0.8); 0: settled, -1: no number of repeats does
	Marks         []string `json:"marks"`             // what the readings that went in, or their sittings, are marked with, and how many of them
	Warnings      []string `json:"warnings"`          // limits that were left by a reading that went in or by the comparison, each once
}

// A Match says how evenly the openings of a piece flow in one round under one rig card.
type Match struct {
	Piece     string         `json:"piece"`
	Round     string         `json:"round"`
	Rig       string         `json:"rig"`
	Lift      float64        `json:"lift_m"`         // valve lift [m]
	Mean      float64        `json:"mean_flow_m3_s"` // over the openings flowed [m³/s]
	MeanLo    float64        `json:"mean_lo95_m3_s"` // 95 % interval for the mean of all openings, flowed or not [m³/s]
	MeanHi    float64        `json:"mean_hi95_m3_s"` // [m³/s]
	SpreadRel float64        `json:"spread_rel"`     // (max − min)/mean [-]
	SpreadLo  float64        `json:"spread_lo95"`    // 95 % interval of the spread of all openings, flowed or not [-]
	SpreadHi  float64        `json:"spread_hi95"`    // [-]
	RunnerSD  float64        `json:"runner_sd_rel"`  // between-runner standard deviation, noise taken out [-]
	RepeatSD  float64        `json:"repeat_sd_rel"`  // of repeats [-]
	Runners   []MatchOpening `json:"runners"`
	NotFlowed []string       `json:"not_flowed"`
	Marks     []string       `json:"marks"` // what the readings that went in, or their sittings, are marked with, and how many of them
	Note      string         `json:"note"`  // what the numbers mean, in words, with the marks
}

// A MatchOpening is one opening in a match.
type MatchOpening struct {
	Opening string  `json:"opening"`
	Flow    float64 `json:"flow_m3_s"` // mean of its readings [m³/s]
	Lo95    float64 `json:"lo95_m3_s"` // 95 % interval, common bench part left out [m³/s]
	Hi95    float64 `json:"hi95_m3_s"` // [m³/s]
	N       int     `json:"n"`         // readings
	Dev     float64 `json:"dev_rel"`   // from the mean of the openings [-]
	Apart   float64 `json:"apart_rel"` // from the mean of the others that are not odd, over the mean of the openings [-]
	Odd     bool    `json:"odd"`       // stands out of the scatter of the others, beyond that of the repeats, and surely by more than the smallest change worth claiming

	ApartHalf float64 `json:"apart_half_rel"` // half-width of the 95 % interval of Apart, by the scatter of repeats [-]; 0: unknown
}

// A Restriction says which piece of the tract holds the flow back, for one state of the tract.
type Restriction struct {
	State     string             `json:"state"`             // "before" or "after"
	Area      float64            `json:"effective_area_m2"` // of the tract in series, best estimate [m²]
	Lower     float64            `json:"lower_m2"`          // nothing carried on at the joints [m²]
	Upper     float64            `json:"upper_m2"`          // all carried on [m²]
	HoldsBack string             `json:"holds_back"`        // piece with the largest share
	Pieces    []RestrictionPiece `json:"pieces"`
	Bench     string             `json:"bench"`   // sitting whose bench the areas of all pieces stand for
	Bridged   []string           `json:"bridged"` // what carried readings of other sittings to it, as for the verdicts
	Note      string             `json:"note"`
}

// A RestrictionPiece is the part of one piece.
type RestrictionPiece struct {
	Piece string  `json:"piece"`
	Round string  `json:"round"`
	Area  float64 `json:"effective_area_m2"` // measured, as it would be with the bench of the restriction's sitting [m²]
	Share float64 `json:"share"`             // of the total pressure drop [-]
	Gain  float64 `json:"gain_per_percent"`  // gain of the whole for one per cent more of this piece [%]
}

// A Pull is the predicted torque and power over speed, before and after.
type Pull struct {
	Before   []Point   `json:"before"`
	After    []Point   `json:"after"`
	Change   []Change  `json:"change"`           // the band on the difference: what the record claims
	Bench    string    `json:"bench"`            // sitting whose bench all readings of the pull stand for; empty: none was used
	Bridged  []string  `json:"bridged"`          // what carried readings of other sittings to it, with its uncertainty, as for the verdicts
	Closures []Closure `json:"closures"`         // twins against their readings
	Demand   *Demand   `json:"demand,omitempty"` // the air asked for after the work, with the closed-form guides beside it
	Ducts    []Ducts   `json:"ducts,omitempty"`  // pressures over one cycle, before and after
	Guides   []Guide   `json:"guides"`
	Dyno     *DynoFit  `json:"dyno,omitempty"` // what a dynamometer run of the card taught
	Assumed  []string  `json:"assumed"`        // what was not known and what was taken instead
	Warnings []string  `json:"warnings"`
}

// A Point is one speed of a pull.
type Point struct {
	Speed     float64    `json:"speed_rpm"` // [rev/min]
	Torque    float64    `json:"torque_nm"` // at the crank [N·m]
	TorqueLo  float64    `json:"band_lo"`   // lower end of the band on torque [N·m]
	TorqueHi  float64    `json:"band_hi"`   // upper end [N·m]
	Power     float64    `json:"power_kw"`  // [kW]
	VE        float64    `json:"ve"`        // volumetric efficiency on the room's air [-]
	IMEP      float64    `json:"imep_bar"`  // [bar]
	FMEP      float64    `json:"fmep_bar"`  // [bar]
	AirFlow   float64    `json:"air_kg_s"`  // [kg/s]
	Settled   bool       `json:"settled"`
	Cycles    int        `json:"cycles"`
	Cylinders []Cylinder `json:"cylinders"`
}

// A Cylinder is one cylinder at one speed.
type Cylinder struct {
	Number   int     `json:"number"`
	VE       float64 `json:"ve"`                // [-]
	IMEP     float64 `json:"imep_bar"`          // [bar]
	Peak     float64 `json:"peak_pressure_bar"` // [bar]
	Residual float64 `json:"residual"`          // burned gas in the charge [-]
}

// A Change is the difference after minus before at one speed.
type Change struct {
	Speed    float64 `json:"speed_rpm"`    // [rev/min]
	Torque   float64 `json:"torque_nm"`    // [N·m]
	TorqueLo float64 `json:"torque_lo_nm"` // 95 % band [N·m]
	TorqueHi float64 `json:"torque_hi_nm"` // [N·m]
	Power    float64 `json:"power_kw"`     // [kW]
	PowerLo  float64 `json:"power_lo_kw"`  // [kW]
	PowerHi  float64 `json:"power_hi_kw"`  // [kW]
}

// A Closure compares a twin's simulated bench with the reading.
type Closure struct {
	State     string  `json:"state"` // "before" or "after"
	Opening   string  `json:"opening"`
	Read      float64 `json:"read_m2"`      // effective area as read, in the sitting it was read in [m²]
	Measured  float64 `json:"measured_m2"`  // the corrected reading: carried over to the bench of the pull [m²]
	Simulated float64 `json:"simulated_m2"` // [m²]
	Ratio     float64 `json:"ratio"`        // simulated over the corrected reading [-]
}

// A Guide is a closed-form guide beside the pull.
type Guide struct {
	Name   string  `json:"name"`
	Value  float64 `json:"value"` // in Unit
	Unit   string  `json:"unit"`
	Note   string  `json:"note"`
	Source string  `json:"source"`
}
