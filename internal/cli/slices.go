package cli

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/internal/fault"
	"runnel/passage"
	"runnel/unit"
)

func badUse(format string, args ...any) error { return &usageError{fmt.Errorf(format, args...)} }

func slicesCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "slices PICTURE…",
		Short: "Area and outline of cut mould slices from pictures or flatbed scans",
		Long: `Area and outline of cut mould slices from pictures (PNG, JPEG, GIF), one slice a picture, on a ground of the other shade.
The scale must be known: the resolution of a flatbed scan, a printed grid the slice lies on, or a bar of known length in the picture.

With --at, the distances of the slices along the centreline, they become a passage; --out writes it as a file of stations.`,
		Example: `  runnel slices s1.png s2.png s3.png --scale "600 dpi" --at "0 mm, 30 mm, 60 mm" --out runner-1.csv
  runnel slices photo.jpg --scale "bar 120,80 920,80 50 mm"`,
		Args: cobra.MinimumNArgs(1),
	}
	scale := cmd.Flags().String("scale", "", `scale: "600 dpi", "grid 5 mm", "bar 120,80 920,80 50 mm" (both ends in pixels, and its length) or the size of a pixel "0.05 mm"`)
	u := quantityFlag(cmd, "u-scale", unit.Ratio, "0.2 %", "standard uncertainty of the size of a pixel")
	at := cmd.Flags().String("at", "", "distances of the slices along the centreline, one a picture")
	out := cmd.Flags().String("out", "", "write the stations to this CSV file")
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if err := isFree("out", *out); err != nil {
			return err
		}
		s, err := app.ParseScale(*scale, *u.si)
		if err != nil {
			return err
		}
		var slices []app.SliceAnswer
		for _, name := range args {
			data, err := readFile(name)
			if err != nil {
				return err
			}
			one, err := app.TraceSlice(name, data, s)
			if err != nil {
				return err
			}
			slices = append(slices, one)
		}
		return sh.tellSlices(slices, *at, *out)
	}
	return cmd
}

type slicesOut struct {
	Slices []app.SliceAnswer   `json:"slices"`
	Length *float64            `json:"length_m,omitempty"`  // [m]
	Volume *float64            `json:"volume_m3,omitempty"` // [m³]
	Made   *app.SectionsAnswer `json:"-"`
}

func (sh *shell) tellSlices(slices []app.SliceAnswer, at, out string) error {
	o := slicesOut{Slices: slices}
	if at != "" {
		text, p, err := stationsOf(slices, at)
		if err != nil {
			return err
		}
		a := app.Sections(p)
		o.Length, o.Volume, o.Made = &a.Length, &a.Volume, &a
		if out != "" {
			if err := os.WriteFile(out, []byte(text), 0o644); err != nil {
				return fault.As(fault.Invalid, err)
			}
		}
	} else if out != "" {
		return badUse(`--out needs --at: where along the centreline each slice was cut, "0 mm, 30 mm, 60 mm"`)
	}
	if sh.json {
		return sh.printJSON(o)
	}
	p, area, l := newPrinter(sh), sh.system.Area(), sh.system.Length()
	for _, s := range slices {
		p.f("%-20s  %12s ± %.2f %% (one sigma)  perimeter %s  %s × %s\n", filepath.Base(s.File), area.Show(s.Area), 100*s.UArea, l.Show(s.Perimeter), l.Show(s.Width), l.Show(s.Height))
		for _, x := range s.Others {
			p.f("  left out: %s\n", p.told(x))
		}
		p.notes(s.Warnings)
	}
	if o.Made != nil {
		p.f("\n")
		if p.err == nil {
			p.err = sh.showSections(*o.Made)
		}
	}
	return p.err
}

// stationsOf makes a passage of slices at the distances as typed.
func stationsOf(slices []app.SliceAnswer, at string) (string, app.ReadPassage, error) {
	words := strings.Split(at, ",")
	if len(words) != len(slices) {
		return "", app.ReadPassage{}, badUse("--at gives %d distances for %d pictures", len(words), len(slices))
	}
	var places []float64
	var sections []passage.Section
	for i, w := range words {
		v, err := unit.Length.Parse(strings.TrimSpace(w))
		if err != nil {
			return "", app.ReadPassage{}, err
		}
		places, sections = append(places, v), append(sections, slices[i].Section)
	}
	text, err := app.StationSheet(places, sections, "Traced on pictures of mould slices.")
	if err != nil {
		return "", app.ReadPassage{}, err
	}
	r, err := app.PassageOf("slices.csv", []byte(text), app.MeshReading{})
	return text, r, err
}
