package app

import (
	"context"
	"encoding/json"
	"path/filepath"
	"strings"

	"runnel/gas"
	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/passage"
	"runnel/unit"
)

// A TraverseFile is probe readings across one section of a passage, as they were sent.
type TraverseFile struct {
	ID    int64
	Name  string
	Round string
	TraverseAbout
	hash string
}

// A TraverseAbout is what is kept of a traverse beside its readings.
type TraverseAbout struct {
	At    float64 `json:"s_m"`        // place along the centreline [m]
	Meter float64 `json:"meter_kg_s"` // mass flow by the meter [kg/s]; 0: none
}

func traverseOf(f store.Attachment) TraverseFile {
	t := TraverseFile{ID: f.ID, Name: f.Name, Round: f.Round, hash: f.Hash}
	if json.Unmarshal(f.About, &t.TraverseAbout) != nil {
		t.Name += " (its place cannot be read)"
	}
	return t
}

// AddTraverse keeps probe readings taken at a place of a passage, after working them out once.
func (a *App) AddTraverse(ctx context.Context, at PassagePlace, name string, data []byte, place, meter string) error {
	s, err := unit.Length.Parse(strings.TrimSpace(place))
	if err != nil {
		return fault.Errorf(fault.Invalid, `place of the traverse: write how far along the centreline it was taken, like "320 mm"`)
	}
	b, err := a.Passage(ctx, at.Job, at.Piece, at.Opening)
	if err != nil {
		return err
	}
	about := TraverseAbout{At: s}
	air := referenceAir(b)
	if strings.TrimSpace(meter) != "" {
		if about.Meter, err = massTyped(meter, air); err != nil {
			return err
		}
	}
	if _, err := b.traverse(at.Round, name, data, about, air); err != nil {
		return err
	}
	text, err := json.Marshal(about)
	if err != nil {
		return err
	}
	_, err = a.store.Attach(ctx, store.Attachment{
		Job: at.Job, Piece: at.Piece, Opening: at.Opening, Round: at.Round, Kind: "traverse", Name: filepath.Base(name), About: text,
	}, data, store.By{Who: a.who})
	return err
}

// massTyped reads a mass flow, or a volume flow at the density of the air m [kg/s].
func massTyped(typed string, m gas.MoistAir) (float64, error) {
	if v, err := unit.MassFlow.Parse(typed); err == nil {
		return v, nil
	}
	v, err := unit.VolumeFlow.Parse(typed)
	if err != nil {
		return 0, fault.Errorf(fault.Invalid, `flow by the meter %q: write a mass flow like "0.08 kg/s" or a volume flow like "142 cfm"`, typed)
	}
	p, err := m.Properties()
	return v * p.Density, err
}

// referenceAir is the air flows of the job are stated at.
func referenceAir(b PassageBook) gas.MoistAir {
	r := b.Job.Reference
	return gas.MoistAir{
		Pressure: orElse(r.Pressure, 101325), Temperature: orElse(r.Temperature, unit.Temperature.Of(20, "°C")), Humidity: r.Humidity, CO2: gas.StandardCO2,
	}
}

// traverse works probe readings out in the section the passage has there.
func (b PassageBook) traverse(round, name string, data []byte, about TraverseAbout, air gas.MoistAir) (TraverseAnswer, error) {
	s, ok := b.State(round)
	if !ok {
		return TraverseAnswer{}, fault.Errorf(fault.Invalid, "a traverse needs the section it was taken in: type the stations of this round, or send a mesh, first")
	}
	return Traverse(TraverseCase{
		Section: sectionAt(s.Passage, about.At), Name: name, Data: data, Air: air, Coefficient: 1, UCoefficient: 0.005, UDP: 1, UPosition: 5e-4, Meter: about.Meter,
	})
}

// sectionAt is the section of the nearest station, without outline that of the circle of its area.
func sectionAt(p *passage.Passage, at float64) passage.Section {
	st := p.Stations()
	best := st[0]
	for _, s := range st {
		if d, e := s.At-at, best.At-at; d*d < e*e {
			best = s
		}
	}
	if len(best.Outline) > 0 {
		return best.Section
	}
	if round, err := passage.Round(best.EquivalentDiameter()); err == nil {
		return round
	}
	return best.Section
}

// TraverseResult works a traverse that is kept out again.
func (a *App) TraverseResult(ctx context.Context, b PassageBook, t TraverseFile) (TraverseAnswer, error) {
	data, err := a.store.Content(ctx, t.hash)
	if err != nil {
		return TraverseAnswer{}, err
	}
	return b.traverse(t.Round, t.Name, data, t.TraverseAbout, referenceAir(b))
}
