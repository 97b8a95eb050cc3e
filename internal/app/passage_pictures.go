package app

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"path/filepath"
	"slices"
	"strings"

	"runnel/internal/fault"
	"runnel/internal/store"
	"runnel/passage"
	"runnel/unit"
)

// A SlicePicture is a picture of a mould slice with what was traced on it.
type SlicePicture struct {
	ID    int64
	Name  string
	Round string
	SliceAbout
}

// A SliceAbout is what is kept of a picture beside it.
type SliceAbout struct {
	At       *float64        `json:"s_m,omitempty"`  // place along the centreline [m]; nil: not said
	Scale    string          `json:"scale"`          // as typed
	Width    int             `json:"width_pixels"`   // of the picture
	Height   int             `json:"height_pixels"`  // of the picture
	Pixel    float64         `json:"pixel_m"`        // size of a pixel [m]; 0: no scale yet
	UPixel   float64         `json:"u_pixel_rel"`    // its standard uncertainty, relative [-]
	Outline  []passage.Point `json:"outline_pixels"` // empty: not traced
	Dragged  bool            `json:"dragged"`        // by hand
	Area     float64         `json:"area_m2"`        // [m²]
	UArea    float64         `json:"u_area_rel"`     // relative [-]
	Perim    float64         `json:"perimeter_m"`    // [m]
	Left     []string        `json:"left_out,omitempty"`
	Warnings []string        `json:"warnings,omitempty"`
	Problem  string          `json:"problem,omitempty"` // why it could not be traced
}

func pictureOf(f store.Attachment) SlicePicture {
	p := SlicePicture{ID: f.ID, Name: f.Name, Round: f.Round}
	if err := json.Unmarshal(f.About, &p.SliceAbout); err != nil {
		p.Problem = "what was traced on it cannot be read: trace it again"
	}
	return p
}

// AddPicture keeps a picture of a mould slice and traces it when its scale is given. A picture without a scale is kept, and asked about.
func (a *App) AddPicture(ctx context.Context, at PassagePlace, name string, data []byte, place, scale string) (int64, error) {
	img, err := readPicture(name, data)
	if err != nil {
		return 0, err
	}
	if _, err := a.Passage(ctx, at.Job, at.Piece, at.Opening); err != nil {
		return 0, err
	}
	size := img.Bounds().Size()
	about := SliceAbout{Scale: strings.TrimSpace(scale), Width: size.X, Height: size.Y}
	if strings.TrimSpace(place) != "" {
		s, err := unit.Length.Parse(place)
		if err != nil {
			return 0, fault.Errorf(fault.Invalid, "place of the slice: %w", err)
		}
		about.At = &s
	}
	about.trace(name, data)
	text, err := json.Marshal(about)
	if err != nil {
		return 0, err
	}
	return a.store.Attach(ctx, store.Attachment{
		Job: at.Job, Piece: at.Piece, Opening: at.Opening, Round: at.Round, Kind: "picture", Name: filepath.Base(name), About: text,
	}, data, store.By{Who: a.who})
}

// trace fills in what is traced on a picture with its scale as typed, or why it cannot be.
func (s *SliceAbout) trace(name string, data []byte) {
	s.Problem, s.Outline, s.Pixel, s.Dragged = "", nil, 0, false
	if s.Scale == "" {
		s.Problem = "the picture has no scale yet: drag along a bar of known length, or type the scale"
		return
	}
	scale, err := ParseScale(s.Scale, 0)
	if err != nil {
		s.Problem = err.Error()
		return
	}
	got, err := TraceSlice(name, data, scale)
	if err != nil {
		s.Problem = err.Error()
		return
	}
	s.UPixel = partOf(got.Parts, "scale") / 2 // the part of the area is twice that of a length
	s.take(got)
}

func (s *SliceAbout) take(got SliceAnswer) {
	s.Outline, s.Pixel, s.Area, s.UArea, s.Perim = got.Pixels, got.Pixel, got.Area, got.UArea, got.Perimeter
	s.Left, s.Warnings = got.Others, got.Warnings
}

func partOf(ps []PartAnswer, name string) float64 {
	for _, p := range ps {
		if p.Name == name {
			return p.U
		}
	}
	return 0
}

// Picture returns a picture and its bytes with their kind.
func (a *App) Picture(ctx context.Context, id string, number int64) (p SlicePicture, kind string, data []byte, err error) {
	f, err := a.store.Attachment(ctx, id, number)
	if err != nil {
		return p, "", nil, err
	}
	if f.Kind != "picture" {
		return p, "", nil, fault.Errorf(fault.NotFound, "number %d is no picture", number)
	}
	data, err = a.store.Content(ctx, f.Hash)
	if err != nil {
		return p, "", nil, err
	}
	return pictureOf(f), http.DetectContentType(data), data, nil
}

// A PictureChange is what is changed about a picture; what is empty stays.
type PictureChange struct {
	Scale   string          // traced again with it
	Place   string          // along the centreline, with its unit
	Outline []passage.Point // dragged by hand [pixels]
}

// ChangePicture changes what is known of a picture.
func (a *App) ChangePicture(ctx context.Context, id string, number int64, c PictureChange) (SlicePicture, error) {
	p, _, data, err := a.Picture(ctx, id, number)
	if err != nil {
		return p, err
	}
	if c.Place != "" {
		s, err := unit.Length.Parse(c.Place)
		if err != nil {
			return p, fault.Errorf(fault.Invalid, "place of the slice: %w", err)
		}
		p.At = &s
	}
	if c.Scale != "" {
		if _, err := ParseScale(c.Scale, 0); err != nil {
			return p, err
		}
		p.Scale = strings.TrimSpace(c.Scale)
		p.trace(p.Name, data)
		if p.Problem != "" {
			return p, fault.Errorf(fault.Invalid, "%s", p.Problem)
		}
	}
	if len(c.Outline) > 0 {
		if p.Pixel == 0 {
			return p, fault.Errorf(fault.Invalid, "%w: set it before the outline", passage.ErrNoScale)
		}
		for _, q := range c.Outline {
			if !(q[0] >= 0 && q[1] >= 0 && q[0] <= float64(p.Width) && q[1] <= float64(p.Height)) {
				return p, fault.Errorf(fault.Invalid, "a point of the outline lies outside the picture")
			}
		}
		got, err := OutlinedSlice(p.Name, c.Outline, p.Pixel, p.UPixel)
		if err != nil {
			return p, err
		}
		p.take(got)
		p.Dragged, p.Problem = true, ""
	}
	about, err := json.Marshal(p.SliceAbout)
	if err != nil {
		return p, err
	}
	return p, a.store.DescribeAttachment(ctx, id, number, about, store.By{Who: a.who})
}

// RemoveFile puts a picture, a mesh or a traverse away.
func (a *App) RemoveFile(ctx context.Context, id string, number int64) error {
	return a.store.RemoveAttachment(ctx, id, number, store.By{Who: a.who})
}

// SaveSlices makes the stations of a round of the pictures traced in it.
func (a *App) SaveSlices(ctx context.Context, at PassagePlace) error {
	b, err := a.Passage(ctx, at.Job, at.Piece, at.Opening)
	if err != nil {
		return err
	}
	var pics []SlicePicture
	for _, p := range b.Pictures {
		if p.Round != at.Round {
			continue
		}
		if len(p.Outline) == 0 || p.At == nil {
			return fault.Errorf(fault.Invalid, "%s is not ready: give it a scale and its place along the centreline, or put it away", p.Name)
		}
		pics = append(pics, p)
	}
	slices.SortStableFunc(pics, func(x, y SlicePicture) int { return int(math.Copysign(1, *x.At-*y.At)) })
	var places []float64
	var sections []passage.Section
	for _, p := range pics {
		s, err := passage.SliceFromPixels(p.Outline, p.Pixel, p.UPixel, 0)
		if err != nil {
			return fault.Errorf(fault.Invalid, "%s: %w", p.Name, err)
		}
		s.U = p.UArea
		places, sections = append(places, *p.At), append(sections, s.Section)
	}
	text, err := StationSheet(places, sections, slicesNote)
	if err != nil {
		return err
	}
	if _, err := PassageOf("slices.csv", []byte(text), MeshReading{}); err != nil {
		return err
	}
	return a.writeStations(ctx, at, fmt.Sprintf("made from %d pictures of slices", len(pics)), func(string) (string, error) { return text, nil })
}
