package job

// An Engine is the engine card: what is known of the engine the pieces feed. A stand-alone engine file
// holds the same keys under [engine]. A zero field means "not known": package engine then uses a stated default
// and says so.
type Engine struct {
	Title            string       `toml:"title"`
	Cylinders        int          `toml:"cylinders" need:"yes"`
	FiringOrder      []int        `toml:"firing_order"`                   // empty: evenly spaced in number order
	Bore             float64      `toml:"bore" need:"yes" dim:"length"`   // cylinder bore [m]
	Stroke           float64      `toml:"stroke" need:"yes" dim:"length"` // stroke [m]
	Rod              float64      `toml:"rod" dim:"length" zero:"never"`  // connecting-rod length [m]
	CompressionRatio float64      `toml:"compression_ratio" need:"yes"`   // volume at bottom over volume at top dead centre [-]
	Motored          bool         `toml:"motored"`                        // no combustion
	ConstantGamma    float64      `toml:"constant_gamma"`                 // ratio of specific heats of a perfect gas [-]; 0: real mixture
	ConstantR        float64      `toml:"constant_r"`                     // its gas constant [J/(kg·K)]
	NoHeat           bool         `toml:"no_heat"`                        // adiabatic walls, for checks
	RedLine          float64      `toml:"red_line" dim:"speed"`           // highest speed allowed [rev/s]
	Speeds           string       `toml:"speeds"`                         // speeds of a pull, "2000:7000:500" rpm
	Air              EngineAir    `toml:"air"`
	Fuel             FuelCard     `toml:"fuel"`
	Cam              CamCard      `toml:"cam"`
	Intake           ValveCard    `toml:"intake_valve"`
	Exhaust          ValveCard    `toml:"exhaust_valve"`
	Inlet            InletCard    `toml:"inlet"`
	Outlet           OutletCard   `toml:"outlet"`
	Burn             BurnCard     `toml:"burn"`
	Heat             HeatCard     `toml:"heat"`
	Friction         FrictionCard `toml:"friction"`
	Dyno             []DynoPoint  `toml:"dyno"` // a measured run, if there is one
}

// EngineAir is the air the engine breathes in a pull.
type EngineAir struct {
	Pressure    float64 `toml:"pressure" dim:"pressure" zero:"never"` // absolute [Pa], default 101 325
	Temperature float64 `toml:"temp" dim:"temperature" zero:"never"`  // [K], default 298.15
	Humidity    float64 `toml:"rh" dim:"ratio"`                       // relative humidity [-]
}

// A FuelCard names the fuel and how rich it is run.
type FuelCard struct {
	Name       string  `toml:"name" oneof:"gasoline,e85,ethanol,methanol"` // default gasoline
	Lambda     float64 `toml:"lambda" zero:"never"`                        // air over stoichiometric air [-], default 0.88
	Evaporated float64 `toml:"evaporated" dim:"ratio" zero:"0.1 %"`        // share evaporated before the valve closes [-]
	FromWalls  float64 `toml:"heat_from_walls" dim:"ratio"`                // share of the heat of that evaporation which hot walls give, not the air [-], default 0
}

// A CamCard is what is known of the cam: a lift table, or the events at a stated lift and the peak lift.
// Angles are crank degrees held in radians.
type CamCard struct {
	Intake  LobeCard `toml:"intake"`
	Exhaust LobeCard `toml:"exhaust"`
	Advance float64  `toml:"advance" dim:"angle"` // both lobes moved earlier [rad crank]
}

// A LobeCard is one lobe. Opens and closes are counted as a cam card writes them: intake opens before top centre,
// closes after bottom centre; exhaust opens before bottom centre, closes after top centre.
type LobeCard struct {
	Opens    float64     `toml:"opens" dim:"angle" pair:"closes"`   // intake BTDC, exhaust BBDC [rad crank]
	Closes   float64     `toml:"closes" dim:"angle" pair:"opens"`   // intake ABDC, exhaust ATDC [rad crank]
	Duration float64     `toml:"duration" dim:"angle"`              // instead of opens and closes, with centre [rad crank]
	Centre   float64     `toml:"centre" dim:"angle" zero:"0.1 deg"` // lobe centre: intake ATDC, exhaust BTDC [rad crank]
	AtLift   float64     `toml:"at_lift" dim:"length"`              // tappet lift the events are stated at [m]; 0: where the valve leaves and meets its seat, lash off
	PeakLift float64     `toml:"peak_lift" dim:"length"`            // at the valve, before lash [m]
	Lash     float64     `toml:"lash" dim:"length"`                 // valve clearance [m]
	Rocker   float64     `toml:"rocker" zero:"never"`               // rocker ratio for a table at the tappet [-], default 1
	Shape    string      `toml:"shape" oneof:"smooth,sine2"`        // profile law between the events; default smooth
	Table    []LiftPoint `toml:"table"`                             // instead of events
}

// RockerRatio is the lift at the valve over that at the tappet [-], 1 where none is given.
func (l *LobeCard) RockerRatio() float64 {
	if l.Rocker == 0 {
		return 1
	}
	return l.Rocker
}

// A LiftPoint is one point of a lift table. Angle counts crank angle from gas-exchange top dead centre (negative before).
type LiftPoint struct {
	Angle float64 `toml:"angle" dim:"angle"` // [rad crank]
	Lift  float64 `toml:"lift" dim:"length"` // at the tappet [m]
}

// A ValveCard is the valves of one side of a cylinder and how they flow.
type ValveCard struct {
	Count     int         `toml:"count"`                                // valves a cylinder, default 1
	Head      float64     `toml:"head" dim:"length" zero:"never"`       // valve head diameter [m]
	Seat      float64     `toml:"seat_width" dim:"length" zero:"never"` // seat width [m]
	SeatAngle float64     `toml:"seat_angle" dim:"angle" zero:"never"`  // [rad], default 45°
	Stem      float64     `toml:"stem" dim:"length" zero:"0.1 mm"`      // stem diameter [m]
	Throat    float64     `toml:"throat" dim:"length" zero:"never"`     // port diameter at the valve [m]
	Constant  float64     `toml:"constant_coefficient"`                 // one coefficient on min(curtain, head area) [-], for checks
	Flow      []FlowPoint `toml:"flow"`                                 // effective area over lift, when measured; else from head readings of the job, else typical
	FlowFrom  string      `toml:"flow_from" ref:"pieces"`               // the head piece of the job whose readings over lift are used
}

// A FlowPoint is the effective area of a valve at a lift, forward.
type FlowPoint struct {
	Lift float64 `toml:"lift" dim:"length"`         // [m]
	Area float64 `toml:"effective_area" dim:"area"` // [m²]
}

// An InletCard is the intake side.
type InletCard struct {
	Layout        string   `toml:"layout" oneof:"plenum,two_plenums,individual"` // default plenum; individual: a throttle and an open end to every runner
	PlenumVolume  float64  `toml:"plenum_volume" dim:"volume" zero:"never"`      // [m³]
	RunnerLength  float64  `toml:"runner_length" dim:"length"`                   // plenum to head face [m]
	RunnerLengths []string `toml:"runner_lengths"`                               // when they differ, one a cylinder, with units
	RunnerEntry   float64  `toml:"runner_entry" dim:"length"`                    // bore, or equivalent diameter, at the plenum [m]
	RunnerExit    float64  `toml:"runner_exit" dim:"length"`                     // at the head face [m]
	RunnerPiece   string   `toml:"runner_piece" ref:"pieces"`                    // the manifold whose readings the twin is tied to
	PortLength    float64  `toml:"port_length" dim:"length"`                     // head face to valve [m]
	PortBore      float64  `toml:"port_bore" dim:"length"`                       // mean bore of the port [m]
	ThrottleBore  float64  `toml:"throttle_bore" dim:"length"`                   // [m]; 0: no throttle
	ThrottleShaft float64  `toml:"throttle_shaft" dim:"length"`                  // shaft diameter [m]
	ThrottlePiece string   `toml:"throttle_piece" ref:"pieces"`                  // the throttle body whose readings are used
	DuctLength    float64  `toml:"duct_length" dim:"length"`                     // duct before the throttle [m]; 0: none
	DuctBore      float64  `toml:"duct_bore" dim:"length"`                       // [m]
	EntryLoss     float64  `toml:"entry_loss"`                                   // loss coefficient of the mouth on its own head [-]
	WallTemp      float64  `toml:"wall_temp" dim:"temperature" zero:"never"`     // runner wall [K], default 320
	PortTemp      float64  `toml:"port_temp" dim:"temperature" zero:"never"`     // wall of the port in the head [K], default 360
	Friction      float64  `toml:"friction"`                                     // Darcy friction factor [-]; 0: from Reynolds number and roughness
	Roughness     float64  `toml:"roughness" dim:"length" zero:"0.001 mm"`       // equivalent sand roughness [m]
}

// An OutletCard is the exhaust side. Without primaries a short pipe to the open stands for it, and the pull says so.
type OutletCard struct {
	PortLength      float64 `toml:"port_length" dim:"length"`                 // valve to flange [m]
	PortBore        float64 `toml:"port_bore" dim:"length"`                   // [m]
	PrimaryLength   float64 `toml:"primary_length" dim:"length"`              // [m]; 0: simple exhaust
	PrimaryBore     float64 `toml:"primary_bore" dim:"length"`                // [m]
	CollectorLength float64 `toml:"collector_length" dim:"length"`            // [m]
	CollectorBore   float64 `toml:"collector_bore" dim:"length"`              // [m]
	Collectors      int     `toml:"collectors"`                               // how many, default 1 up to four cylinders, else 2
	BackPressure    float64 `toml:"back_pressure" dim:"pressure"`             // gauge pressure beyond the tail [Pa]
	Direct          bool    `toml:"direct"`                                   // the valve discharges straight into the room, for checks
	WallTemp        float64 `toml:"wall_temp" dim:"temperature" zero:"never"` // [K], default 650
}

// A BurnCard is the burn. Zero fields take the defaults of package engine by speed.
type BurnCard struct {
	Start    float64 `toml:"start" dim:"angle"`                 // start of burn before top centre [rad]
	CA50     float64 `toml:"ca50" dim:"angle" zero:"0.1 deg"`   // half burned, after top centre [rad], default 8°
	Duration float64 `toml:"duration" dim:"angle" zero:"never"` // 10–90 % [rad]
	Shape    float64 `toml:"shape" zero:"never"`                // Wiebe form exponent m [-], default 2
	Complete float64 `toml:"complete" dim:"ratio" zero:"never"` // share of the fuel's heat that is set free [-]
}

// A HeatCard is the heat given to the cylinder walls.
type HeatCard struct {
	Model      string  `toml:"model" oneof:"woschni,hohenberg"`          // default woschni
	WallTemp   float64 `toml:"wall_temp" dim:"temperature" zero:"never"` // mean cylinder wall [K], default 450
	Multiplier float64 `toml:"multiplier" zero:"0.001"`                  // on the coefficient [-], default 1
}

// A FrictionCard is the mechanical friction.
type FrictionCard struct {
	Model string  `toml:"model" oneof:"chen_flynn,patton"` // default chen_flynn
	A     float64 `toml:"a" dim:"pressure"`                // constant part of FMEP [Pa]; 0 here and below: the usual constant
	B     float64 `toml:"b"`                               // on peak pressure [-]
	C     float64 `toml:"c"`                               // on mean piston speed [Pa·s/m]
	D     float64 `toml:"d"`                               // on its square [Pa·s²/m²]
}

// A DynoPoint is one point of a measured run.
type DynoPoint struct {
	Speed   float64 `toml:"speed" dim:"speed"`        // [rev/s]
	Torque  float64 `toml:"torque" dim:"torque"`      // [N·m]
	AirFlow float64 `toml:"air_flow" dim:"mass_flow"` // [kg/s]; 0 not measured
}
