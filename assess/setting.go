package assess

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"runnel/engine"
	"runnel/job"
	"runnel/unit"
)

// ErrSetting means that a change of the engine cannot be made; the text says what to write.
var ErrSetting = errors.New("change cannot be made")

// A Setting is one thing of an engine that a what-if may change.
type Setting struct {
	Name  string         // "runner.length"
	Title string         // "Runner length"
	Dim   unit.Dimension // unit.Ratio where it is a pure number
	Note  string         // what exactly is changed
	Wide  float64        // how far a slider reaches to either side, relative [-]; 0: Reach
	Reach float64        // the same as an amount [SI unit of Dim]
	Step  float64        // of a slider [SI unit of Dim]

	now  func(e *engine.Engine, card job.Engine) (float64, error)
	make func(e *engine.Engine, from, to float64) []engine.Change
}

const degree = math.Pi / 180

// Settings lists what a what-if may change, in the order shown.
func Settings() []Setting {
	return append(passageSettings(), camSettings()...)
}

func passageSettings() []Setting {
	return []Setting{
		{
			Name: "runner.length", Title: "Runner length", Dim: unit.Length, Wide: 0.4, Step: 0.005,
			Note: "Mean length of the runners, mouth to head face. Every runner is stretched or cut in the same proportion; a measured loss stays as it is.",
			now:  plain(meanLength),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{stretchRunners(to / from)}
			},
		},
		{
			Name: "runner.taper", Title: "Runner taper", Dim: unit.Ratio, Wide: 0.4, Step: 0.02,
			Note: "Area at the mouth over area at the head face. The head face stays as it is.",
			now:  plain(taper),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.RunnerTaper(to / from)}
			},
		},
		{
			Name: "runner.section", Title: "Runner section", Dim: unit.Area, Wide: 0.3, Step: 1e-5,
			Note: "Mean section of the runners; all sections grow or shrink in the same proportion, the port in the head stays as it is.",
			now:  plain(meanSection),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.RunnerSection(to / from)}
			},
		},
		{
			Name: "plenum.volume", Title: "Plenum volume", Dim: unit.Volume, Wide: 0.6, Step: 1e-4,
			Note: "Volume of each plenum.",
			now: func(e *engine.Engine, _ job.Engine) (float64, error) {
				if e.Inlet.Layout == engine.Individual {
					return 0, errors.New("there is no plenum: every runner has its own throttle")
				}
				return e.Inlet.Plenum, nil
			},
			make: func(_ *engine.Engine, _, to float64) []engine.Change { return []engine.Change{engine.PlenumVolume(to)} },
		},
		{
			Name: "throttle.bore", Title: "Throttle bore", Dim: unit.Length, Wide: 0.4, Step: 0.001,
			Note: "Bore of each throttle body; its measured or assumed effective area follows the bore squared.",
			now: func(_ *engine.Engine, card job.Engine) (float64, error) {
				if card.Inlet.ThrottleBore <= 0 {
					return 0, errors.New("the engine card names no throttle_bore")
				}
				return card.Inlet.ThrottleBore, nil
			},
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.ThrottleBore(from, to)}
			},
		},
	}
}

func camSettings() []Setting {
	return []Setting{
		{
			Name: "cam.duration", Title: "Cam duration", Dim: unit.Angle, Reach: 40 * degree, Step: degree,
			Note: "Crank angle of the intake lobe above 1 mm valve lift; the exhaust lobe grows by as much. Both stay about their peaks.",
			now:  plain(func(e *engine.Engine) float64 { return e.Intake.Duration(camRef) }),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.CamDuration(to - from)}
			},
		},
		{
			Name: "cam.intake_centre", Title: "Intake lobe centre", Dim: unit.Angle, Reach: 15 * degree, Step: degree,
			Note: "Crank angle of peak intake lift after gas-exchange top centre.",
			now:  plain(func(e *engine.Engine) float64 { _, at := e.Intake.Peak(); return at }),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.LobeCentres(to-from, 0)}
			},
		},
		{
			Name: "cam.exhaust_centre", Title: "Exhaust lobe centre", Dim: unit.Angle, Reach: 15 * degree, Step: degree,
			Note: "Crank angle of peak exhaust lift before gas-exchange top centre.",
			now:  plain(func(e *engine.Engine) float64 { _, at := e.Exhaust.Peak(); return -at }),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.LobeCentres(0, from-to)}
			},
		},
		{
			Name: "cam.lift", Title: "Valve lift", Dim: unit.Length, Wide: 0.25, Step: 1e-4,
			Note: "Peak intake valve lift, lash off; the exhaust lift changes in the same proportion.",
			now:  plain(func(e *engine.Engine) float64 { l, _ := e.Intake.Peak(); return l }),
			make: func(_ *engine.Engine, from, to float64) []engine.Change {
				return []engine.Change{engine.CamLift(to / from)}
			},
		},
		{
			Name: "compression", Title: "Compression ratio", Dim: unit.Ratio, Reach: 3, Step: 0.1,
			Note: "Geometric compression ratio.",
			now:  plain(func(e *engine.Engine) float64 { return e.Crank.CompressionRatio }),
			make: func(_ *engine.Engine, _, to float64) []engine.Change { return []engine.Change{engine.Compression(to)} },
		},
	}
}

// camRef is the valve lift durations are counted above [m].
const camRef = 0.001

func plain(f func(e *engine.Engine) float64) func(*engine.Engine, job.Engine) (float64, error) {
	return func(e *engine.Engine, _ job.Engine) (float64, error) { return f(e), nil }
}

func meanLength(e *engine.Engine) float64 {
	sum := 0.0
	for _, r := range e.Inlet.Runners {
		sum += r.Length
	}
	return sum / float64(len(e.Inlet.Runners))
}

func stretchRunners(f float64) engine.Change {
	return func(e *engine.Engine) {
		for i := range e.Inlet.Runners {
			e.Inlet.Runners[i].Length *= f
		}
	}
}

func taper(e *engine.Engine) float64 {
	r := e.Inlet.Runners[0]
	if n := len(r.Shape); n > 0 {
		return r.Shape[0].Area / r.Shape[n-1].Area
	}
	return r.Entry * r.Entry / (r.Exit * r.Exit)
}

// meanSection returns the mean section of the runners [m²]: volume over length.
func meanSection(e *engine.Engine) float64 {
	sum := 0.0
	for _, r := range e.Inlet.Runners {
		if len(r.Shape) == 0 {
			// Area runs straight between the ends.
			sum += math.Pi / 8 * (r.Entry*r.Entry + r.Exit*r.Exit)
			continue
		}
		v := 0.0
		for i := 1; i < len(r.Shape); i++ {
			v += (r.Shape[i].X - r.Shape[i-1].X) * (r.Shape[i].Area + r.Shape[i-1].Area) / 2
		}
		sum += v / (r.Shape[len(r.Shape)-1].X - r.Shape[0].X)
	}
	return sum / float64(len(e.Inlet.Runners))
}

// SettingNamed returns the setting of that name. Error: ErrSetting, with the names there are.
func SettingNamed(name string) (Setting, error) {
	var names []string
	for _, s := range Settings() {
		if s.Name == name {
			return s, nil
		}
		names = append(names, s.Name)
	}
	return Setting{}, fmt.Errorf("%w: there is no %q: use one of %s", ErrSetting, name, strings.Join(names, ", "))
}

// Now returns the present value of the setting in an engine [SI]. Error: ErrSetting, where the engine has no such thing.
func (s Setting) Now(t Tied) (float64, error) {
	v, err := s.now(t.Engine, t.Card)
	if err != nil {
		return 0, fmt.Errorf("%w: %s: %w", ErrSetting, s.Name, err)
	}
	return v, nil
}

// Range returns the ends of a slider about the present value [SI].
func (s Setting) Range(now float64) (lo, hi float64) {
	reach := s.Reach
	if s.Wide > 0 {
		reach = s.Wide * now
	}
	n := math.Ceil(reach / s.Step)
	return now - n*s.Step, now + n*s.Step
}

// Set is one setting with the value wanted.
type Set struct {
	Setting Setting
	From    float64 // present value [SI unit of Setting.Dim]
	To      float64 // wanted value [SI unit of Setting.Dim]
}

// ParseSet reads "runner.length=350 mm", "runner.length=+20mm", "cam.duration=-5 °", "runner.section=+4%" for an engine. A sign
// makes it a change of the present value, a per cent sign a share of it. Error: ErrSetting.
func ParseSet(text string, t Tied) (Set, error) {
	name, value, found := strings.Cut(text, "=")
	name, value = strings.TrimSpace(name), strings.TrimSpace(value)
	if !found || value == "" {
		return Set{}, fmt.Errorf("%w: %q: write it as runner.length=350mm, runner.length=+20mm or runner.length=+5%%", ErrSetting, text)
	}
	s, err := SettingNamed(name)
	if err != nil {
		return Set{}, err
	}
	if strings.Contains(value, "=") {
		return Set{}, fmt.Errorf("%w: %q holds more than one change: write each on its own", ErrSetting, text)
	}
	from, err := s.Now(t)
	if err != nil {
		return Set{}, err
	}
	to, err := s.value(value, from)
	if err != nil {
		return Set{}, fmt.Errorf("%w: %s: %w", ErrSetting, name, err)
	}
	return s.Of(from, to)
}

func (s Setting) value(text string, from float64) (float64, error) {
	change := text[0] == '+' || text[0] == '-' || strings.HasPrefix(text, "−")
	text = strings.Replace(text, "−", "-", 1)
	if share, ok := strings.CutSuffix(text, "%"); ok {
		v, err := strconv.ParseFloat(strings.TrimSpace(share), 64)
		if err != nil {
			return 0, fmt.Errorf("%q is no share: write it like +5%%", text)
		}
		if !change {
			return 0, fmt.Errorf("%q is a share of the present value: write +%s or -%s", text, text, text)
		}
		return from * (1 + v/100), nil
	}
	if s.Dim.Name == unit.Ratio.Name {
		text = strings.TrimSpace(strings.TrimSuffix(text, ":1")) // as a compression ratio is spoken of
	}
	v, err := s.Dim.Parse(text)
	if errors.Is(err, unit.ErrNoUnit) {
		return 0, fmt.Errorf("%q has no unit: write it like %q", text, s.Show(unit.Metric, from))
	}
	if err != nil {
		return 0, err
	}
	if change {
		v += from
	}
	return v, nil
}

// Of returns the setting with a wanted value [SI]. Error: ErrSetting, where the value makes no sense.
func (s Setting) Of(from, to float64) (Set, error) {
	lo, hi := from/3, from*3
	if s.Dim.Name == unit.Angle.Name {
		lo, hi = from-90*degree, from+90*degree
	}
	if math.IsNaN(to) || to < lo || to > hi {
		return Set{}, fmt.Errorf("%w: %s: %s is out of reach of the present %s: stay within %s to %s", ErrSetting, strings.ToLower(s.Title[:1])+s.Title[1:],
			s.Show(unit.Metric, to), s.Show(unit.Metric, from), s.Show(unit.Metric, lo), s.Show(unit.Metric, hi))
	}
	return Set{Setting: s, From: from, To: to}, nil
}

// Style returns how the setting is written for people.
func (s Setting) Style(sys unit.System) unit.Style {
	switch s.Dim.Name {
	case unit.Length.Name:
		return sys.Length()
	case unit.Area.Name:
		return sys.Area()
	case unit.Volume.Name:
		return sys.Volume()
	case unit.Angle.Name:
		return unit.Style{Dimension: unit.Angle, Unit: "°", Decimals: 1}
	}
	return unit.Style{Dimension: unit.Ratio, Unit: "", Decimals: 2}
}

// Show writes a value of the setting [SI] with its unit.
func (s Setting) Show(sys unit.System, v float64) string {
	return strings.TrimSpace(s.Style(sys).Show(v))
}
