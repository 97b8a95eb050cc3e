package cli

import (
	"github.com/spf13/cobra"

	"runnel/internal/app"
	"runnel/unit"
)

// meshFlags are how a mesh is read.
type meshFlags struct {
	o    app.MeshReading
	hole *quantity
}

func addMesh(cmd *cobra.Command) *meshFlags {
	m := &meshFlags{}
	f := cmd.Flags()
	f.StringVar(&m.o.Unit, "unit", "", "unit of the mesh: mm, cm, in or m (asked for when left out and not certain)")
	f.BoolVar(&m.o.Sure, "sure", false, "the unit is right although the size is unusual")
	f.IntVar(&m.o.Stations, "stations", 40, "sections along a mesh")
	f.StringVar(&m.o.Along, "along", "auto", "how a mesh lies: x, y, z or auto")
	f.BoolVar(&m.o.Reverse, "reverse", false, "count a mesh from its other end")
	m.hole = quantityFlag(cmd, "holes", unit.Length, "15 mm", "width up to which holes of a mesh are closed")
	return m
}

// read reads the passage in a file.
func (m *meshFlags) read(name string) (app.ReadPassage, error) {
	data, err := readFile(name)
	if err != nil {
		return app.ReadPassage{}, err
	}
	m.o.HoleLimit = *m.hole.si
	return app.PassageOf(name, data, m.o)
}

func sectionsCommand(sh *shell) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "sections FILE",
		Short: "Sections along a passage, from a scanned mesh (STL) or from typed stations (CSV)",
		Long: `Sections along a passage. A mesh is the surface of the air in the passage, such as a scanned mould: it is mended, its two ends and
its centreline are found, and sections are cut normal to it. An STL file names no unit: say it with --unit.

A file of stations has one section a line, from the entry on, the unit at the end of every column name:

  s_mm,shape,diameter_mm,wall_mm,bend_deg
  0,round,52,4.1,0
  40,round,49.6,3.8,12

Shapes are round, rectangle (width, height, corner), ellipse (width, height), d (width, height, corner) and area (area, perimeter).`,
		Example: `  runnel sections mould.stl --unit mm --stations 40
  runnel sections sections/runner-1.csv --json`,
		Args: cobra.ExactArgs(1),
	}
	mesh := addMesh(cmd)
	cmd.RunE = func(_ *cobra.Command, args []string) error {
		if mesh.o.Stations < 2 || mesh.o.Stations > 2000 {
			return badUse("--stations %d: write from 2 to 2000", mesh.o.Stations)
		}
		r, err := mesh.read(args[0])
		if err != nil {
			return err
		}
		a := app.Sections(r)
		if sh.json {
			return sh.printJSON(a)
		}
		return sh.showSections(a)
	}
	return cmd
}

func (sh *shell) showSections(a app.SectionsAnswer) error {
	p, l, area := newPrinter(sh), sh.system.Length(), sh.system.Area()
	p.f("length     %s\nvolume     %s\nnarrowest  %s at %s\n", l.Show(a.Length), volumeText(sh, a.Volume), area.Show(a.NarrowestArea), l.Show(a.NarrowestAt))
	for _, b := range a.Bends {
		p.f("bend       %.1f° of radius %s, from %s to %s\n", unit.Angle.In(b.Angle, "°"), l.Show(b.Radius), l.Show(b.From), l.Show(b.To))
	}
	p.f("\n%12s %14s %12s %12s %10s %9s\n", "along", "area", "perimeter", "hydraulic", "wall", "taper")
	for _, s := range a.Sections {
		wall := "–"
		if s.Wall > 0 {
			wall = l.Show(s.Wall)
		}
		p.f("%12s %14s %12s %12s %10s %8.1f°\n", l.Show(s.At), area.Show(s.Area), l.Show(s.Perimeter), l.Show(s.Hydraulic), wall, unit.Angle.In(s.Taper, "°"))
	}
	if m := a.Mended; m != nil {
		p.f("\nmesh in %s: %d triangles, %d turned over, %d doubled, %d holes closed, %d open ends capped\n", a.Unit, m.Triangles, m.Flipped, m.Doubled, m.HolesClosed, m.OpenEnds)
		for _, s := range m.Strays {
			p.f("left out: %s\n", s)
		}
	}
	p.notes(a.Warnings)
	return p.err
}

// volumeText shows a volume of the size of a passage.
func volumeText(sh *shell, v float64) string {
	if sh.system == unit.US {
		return unit.Volume.Format(v, "in³", 2)
	}
	return unit.Volume.Format(v, "cm³", 1)
}
