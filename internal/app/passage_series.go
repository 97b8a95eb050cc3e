package app

import (
	"errors"

	"runnel/gas"
	"runnel/internal/fault"
	"runnel/job"
	"runnel/tract"
)

// A SeriesAnswer is measured pieces put in series.
type SeriesAnswer struct {
	Title        string        `json:"title,omitempty"`
	Area         float64       `json:"effective_area_m2"` // [m²]
	U            float64       `json:"u_rel"`             // its standard uncertainty, relative [-]
	Flow         float64       `json:"flow_m3_s"`         // at the test pressure [m³/s]
	Lower        float64       `json:"lower_m2"`          // nothing carried on [m²]
	Upper        float64       `json:"upper_m2"`          // all carried on [m²]
	SmallDrop    float64       `json:"small_drop_m2"`     // by the form for a small drop [m²]
	Compressible bool          `json:"compressible"`
	Drop         float64       `json:"dp_pa"` // [Pa]
	HoldsBack    string        `json:"holds_back"`
	NextBest     string        `json:"next_best"`
	Pieces       []SeriesShare `json:"pieces"`
	Solved       *SeriesSolved `json:"carried_on_solved,omitempty"`
	Curves       []SeriesGain  `json:"gain_curves"`
	Warnings     []string      `json:"warnings"`
}

// A SeriesShare is one piece's part in it.
type SeriesShare struct {
	Name  string  `json:"name"`
	Area  float64 `json:"effective_area_m2"` // as flowed alone [m²]
	Share float64 `json:"share"`             // of the drop [-]
	Gain  float64 `json:"gain_per_percent"`  // of the whole for one per cent more here [%]
}

// A SeriesSolved is the share of exit head carried on that makes the pieces give the assembled reading.
type SeriesSolved struct {
	Eta         float64 `json:"eta"`        // [-]
	U           float64 `json:"u"`          // its standard uncertainty [-]
	Gain        float64 `json:"error_gain"` // change of eta for a relative change of 1 of the assembled area [-]
	Meaningless bool    `json:"meaningless"`
	Note        string  `json:"note"`
}

// A SeriesGain is what the whole gains as one piece alone gets better.
type SeriesGain struct {
	Piece   string       `json:"name"`
	Ceiling float64      `json:"ceiling_gain"` // if this piece lost nothing [-]
	Points  [][2]float64 `json:"factor_gain"`  // pairs of area over now and gain of the whole [-]
}

// Series puts the pieces of a file in series.
func Series(f job.SeriesFile) (SeriesAnswer, error) {
	air, err := gas.MoistAir{Pressure: f.Pressure, Temperature: f.Temperature, CO2: gas.StandardCO2}.Properties()
	if err != nil {
		return SeriesAnswer{}, err
	}
	n := gas.Nozzle{Pressure: f.Pressure, Temperature: f.Temperature, Downstream: f.Pressure - f.TestPressure, GasConstant: air.GasConstant, Gamma: air.Kappa}
	if !(n.Downstream > 0 && f.TestPressure > 0) {
		return SeriesAnswer{}, fault.Errorf(fault.Invalid, "a test pressure of %.4g Pa does not fit air of %.6g Pa", f.TestPressure, f.Pressure)
	}
	flux := n.Flux() / air.Density // flow through one square metre
	area := func(area, flow float64) float64 {
		if flow != 0 {
			return flow / flux
		}
		return area
	}
	s := tract.Series{Common: f.UCommon, Assembled: area(f.Assembled.Area, f.Assembled.Flow), UAssembled: f.Assembled.U, Drop: f.TestPressure}
	if !f.SmallDrop {
		s.Pressure, s.Gamma = f.Pressure, air.Kappa
	}
	for _, p := range f.Pieces {
		s.Pieces = append(s.Pieces, tract.Piece{
			Name: p.Name, Area: area(p.Area, p.Flow), U: p.U, Feeds: p.Feeds, Entry: p.EntryArea, Exit: p.ExitArea, UExit: p.UExit, Carried: p.CarriedOn, UCarried: p.UCarried,
		})
	}
	w, err := s.Solve()
	if err != nil {
		if errors.Is(err, tract.ErrNoArea) || errors.Is(err, tract.ErrNoPieces) || errors.Is(err, tract.ErrPressure) {
			return SeriesAnswer{}, invalid(err)
		}
		return SeriesAnswer{}, err
	}
	return seriesAnswer(f, s, w, flux, gasWords(air.Warnings)), nil
}

func seriesAnswer(f job.SeriesFile, s tract.Series, w tract.Whole, flux float64, words []string) SeriesAnswer {
	a := SeriesAnswer{
		Title: f.Title, Area: w.Area, U: w.U, Flow: w.Area * flux, Lower: w.Lower, Upper: w.Upper, SmallDrop: w.SmallDrop, Compressible: w.Compressible, Drop: f.TestPressure,
		HoldsBack: w.HoldsBack, NextBest: w.NextBest, Pieces: []SeriesShare{}, Curves: []SeriesGain{}, Warnings: orEmpty(append(words, w.Warnings...)),
	}
	for i, q := range w.Shares {
		a.Pieces = append(a.Pieces, SeriesShare{Name: q.Piece, Area: s.Pieces[i].Area, Share: q.Drop, Gain: q.Gain})
	}
	if e := w.Solved; e != nil {
		a.Solved = &SeriesSolved{Eta: e.Eta, U: e.U, Gain: e.Gain, Meaningless: e.Meaningless, Note: e.Note}
	}
	for _, c := range w.Curves {
		g := SeriesGain{Piece: c.Piece, Ceiling: c.Ceiling, Points: [][2]float64{}}
		for _, p := range c.Points {
			g.Points = append(g.Points, [2]float64{p.Factor, p.Gain})
		}
		a.Curves = append(a.Curves, g)
	}
	return a
}
