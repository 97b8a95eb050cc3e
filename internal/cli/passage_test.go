package cli_test

import (
	"bytes"
	"context"
	"encoding/binary"
	"encoding/csv"
	"encoding/json"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"runnel/internal/cli"
)

const meshes = "../../passage/testdata/meshes/"

func runnel(t *testing.T, args ...string) (code int, out, errs string) {
	t.Helper()
	var o, e bytes.Buffer
	code = cli.Run(context.Background(), args, cli.Env{Stdin: strings.NewReader(""), Stdout: &o, Stderr: &e})
	return code, o.String(), e.String()
}

func answer(t *testing.T, into any, args ...string) {
	t.Helper()
	code, out, errs := runnel(t, append(args, "--json")...)
	if code != 0 {
		t.Fatalf("%v: exit code %d: %s", args, code, errs)
	}
	if err := json.Unmarshal([]byte(out), into); err != nil {
		t.Fatalf("%v: %v", args, err)
	}
}

// table reads a reference table as maps by column.
func table(t *testing.T, name string) []map[string]string {
	t.Helper()
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	r := csv.NewReader(bytes.NewReader(data))
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, c := range row {
			m[rows[0][i]] = c
		}
		out = append(out, m)
	}
	return out
}

func num(t *testing.T, s string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func within(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.8g, want %.8g within %g", what, got, want, rel)
	}
}

type cutSections struct {
	Length     float64 `json:"length_m"`
	Volume     float64 `json:"volume_m3"`
	MeshVolume float64 `json:"mesh_volume_m3"`
	Sections   []struct {
		At        float64    `json:"s_m"`
		Area      float64    `json:"area_m2"`
		Perimeter float64    `json:"perimeter_m"`
		Hydraulic float64    `json:"hydraulic_diameter_m"`
		Centre    [3]float64 `json:"centre_m"`
		Normal    [3]float64 `json:"normal_m"`
	} `json:"sections"`
}

// at returns area, perimeter and hydraulic diameter at s [m], straight between sections.
func (c cutSections) at(s float64) (area, perimeter, hydraulic float64) {
	for i := 1; i < len(c.Sections); i++ {
		a, b := c.Sections[i-1], c.Sections[i]
		if s <= b.At || i == len(c.Sections)-1 {
			w := (s - a.At) / (b.At - a.At)
			return a.Area + w*(b.Area-a.Area), a.Perimeter + w*(b.Perimeter-a.Perimeter), a.Hydraulic + w*(b.Hydraulic-a.Hydraulic)
		}
	}
	return 0, 0, 0
}

// Analytic bodies, geometry.csv and geometry_sections.csv of the reference data (own Python: numpy, scipy). Tolerance: 0.2 % on
// lengths, areas and perimeters, of which up to 0.07 % is the facets of the meshes themselves; 0.1 % on the volume of the mesh.
func TestSectionsOfAnalyticMeshes(t *testing.T) {
	sections := table(t, "../../passage/testdata/geometry_sections.csv")
	for _, g := range table(t, "../../passage/testdata/geometry.csv") {
		t.Run(g["name"], func(t *testing.T) {
			var got cutSections
			answer(t, &got, "sections", meshes+g["name"]+".stl", "--stations", "161", "--unit", "mm")
			within(t, "length", got.Length, 1e-3*num(t, g["centreline_length_mm"]), 0.002)
			within(t, "volume", got.Volume, 1e-9*num(t, g["mesh_volume_mm3"]), 0.001)
			within(t, "volume of the mesh", got.MeshVolume, 1e-9*num(t, g["mesh_volume_mm3"]), 1e-6)
			turned := math.Abs(got.Sections[0].Area-1e-6*num(t, first(t, sections, g["name"], "0")["area_mm2"])) > 0.002*got.Sections[0].Area
			seen := 0
			for _, s := range sections {
				if s["name"] != g["name"] {
					continue
				}
				seen++
				at := 1e-3 * num(t, s["s_mm"])
				if turned { // counted from the other end: a mesh has no entry
					at = got.Length - at
				}
				area, perimeter, hydraulic := got.at(at)
				within(t, "area at "+s["s_mm"], area, 1e-6*num(t, s["area_mm2"]), 0.002)
				within(t, "perimeter at "+s["s_mm"], perimeter, 1e-3*num(t, s["perimeter_mm"]), 0.002)
				within(t, "hydraulic diameter at "+s["s_mm"], hydraulic, 1e-3*num(t, s["hydraulic_diameter_mm"]), 0.002)
			}
			if seen < 5 {
				t.Fatalf("only %d sections in the reference", seen)
			}
		})
	}
}

func first(t *testing.T, rows []map[string]string, name, u string) map[string]string {
	t.Helper()
	for _, r := range rows {
		if r["name"] == name && r["u"] == u {
			return r
		}
	}
	t.Fatalf("no row %s at %s", name, u)
	return nil
}

// butterfly_throttle.csv of the reference data: projection after Heywood (1988), eq. 7.18, signs from the geometry. Tolerance 1e-9.
func TestThrottleTable(t *testing.T) {
	rows := table(t, "../../tract/testdata/butterfly_throttle.csv")
	for i, r := range rows {
		if testing.Short() && i%7 != 0 {
			continue
		}
		var got struct {
			Fraction float64 `json:"open_fraction"`
			Area     float64 `json:"open_area_m2"`
			Limited  bool    `json:"shaft_limited"`
		}
		answer(t, &got, "throttle", "--bore", r["D_m"]+" m", "--shaft", r["d_m"]+" m", "--closed-angle", r["psi0_deg"], "--angle", r["psi_deg"])
		if want := num(t, r["open_fraction"]); math.Abs(got.Fraction-want) > 1e-9 {
			t.Errorf("row %s: fraction %.12f, want %.12f", r["id"], got.Fraction, want)
		}
		if want := num(t, r["A_open_m2"]); math.Abs(got.Area-want) > 1e-9*math.Pi/4*num(t, r["D_m"])*num(t, r["D_m"]) {
			t.Errorf("row %s: area %.12g, want %.12g", r["id"], got.Area, want)
		}
	}
	if len(rows) < 100 {
		t.Errorf("only %d rows", len(rows))
	}
}

// Entry loss of the handbook table of flush rounded entries (Idelchik; Crane TP-410), exact at its points.
func TestLedgerEntryLoss(t *testing.T) {
	dir := t.TempDir()
	name := filepath.Join(dir, "straight.csv")
	if err := os.WriteFile(name, []byte("s_mm,shape,diameter_mm\n0,round,50\n100,round,50\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	for _, r := range table(t, "../../passage/testdata/entrance_loss_vs_r_over_D.csv") {
		if r["table_cited"] == "" {
			continue
		}
		var got struct {
			Area   float64 `json:"effective_area_m2"`
			Losses []struct {
				Kind   string  `json:"kind"`
				K      float64 `json:"k"`
				Lo, Hi float64
				Drop   float64 `json:"dp_pa"`
				Share  float64 `json:"share"`
				Source string  `json:"source"`
			} `json:"losses"`
		}
		answer(t, &got, "ledger", name, "--dp", "28 inH2O", "--entry-radius", strconv.FormatFloat(50*num(t, r["r_over_D"]), 'g', -1, 64)+" mm", "--surface", "worked")
		within(t, "K at r/D "+r["r_over_D"], got.Losses[0].K, num(t, r["table_cited"]), 1e-9)
		sum, shares := 0.0, 0.0
		for _, l := range got.Losses {
			sum, shares = sum+l.Drop, shares+l.Share
			if l.Source == "" {
				t.Errorf("%s has no source", l.Kind)
			}
		}
		within(t, "sum of the losses", sum, 28*249.08891, 1e-6) // 28 inches of water at 4 °C, by the definition of the unit
		within(t, "sum of the shares", shares, 1, 1e-6)
	}
}

// stl writes triangles of an existing binary STL, those that keep allows, scaled and moved.
func stl(t *testing.T, from string, parts ...part) []byte {
	t.Helper()
	data, err := os.ReadFile(from)
	if err != nil {
		t.Fatal(err)
	}
	var body []byte
	n := uint32(0)
	for _, p := range parts {
		for i := range int(binary.LittleEndian.Uint32(data[80:])) {
			tri := bytes.Clone(data[84+50*i : 134+50*i])
			var mid [3]float64
			for k := range 9 {
				at := tri[12+4*k : 16+4*k]
				v := p.scale * float64(math.Float32frombits(binary.LittleEndian.Uint32(at)))
				mid[k%3] += v / 3
				if k%3 == 1 {
					v += p.up
				}
				binary.LittleEndian.PutUint32(at, math.Float32bits(float32(v)))
			}
			if p.keep == nil || p.keep(mid) {
				body = append(body, tri...)
				n++
			}
		}
	}
	out := make([]byte, 84, 84+len(body))
	binary.LittleEndian.PutUint32(out[80:], n)
	return append(out, body...)
}

type part struct {
	scale, up float64
	keep      func(mid [3]float64) bool
}

// What cannot be taken is refused with exit code 3 and words that say where and what to do.
func TestSectionsRefuse(t *testing.T) {
	dir := t.TempDir()
	torus, cylinder := meshes+"torus90.stl", meshes+"cylinder.stl"
	put := func(name string, data []byte) string {
		name = filepath.Join(dir, name)
		if err := os.WriteFile(name, data, 0o644); err != nil {
			t.Fatal(err)
		}
		return name
	}
	open := put("open.stl", stl(t, torus, part{scale: 1, keep: func(mid [3]float64) bool { return mid[0] < 20 || mid[0] > 45 || mid[2] < 5 }}))
	tests := []struct {
		name string
		args []string
		say  []string
	}{
		{"open shell", []string{open, "--unit", "mm"}, []string{"open", "mm"}},
		{"two tubes", []string{put("two.stl", stl(t, cylinder, part{scale: 1}, part{scale: 1, up: 90})), "--unit", "mm"}, []string{"more than one tube"}},
		{"inches called mm", []string{put("inch.stl", stl(t, torus, part{scale: 1 / 25.4})), "--unit", "mm"}, []string{"is it in inches?", "--unit in", "--sure"}},
		{"unit asked for", []string{cylinder}, []string{"which is it?", "--unit mm"}},
		{"no unit of a mesh", []string{cylinder, "--unit", "furlong"}, []string{"mm, cm, in or m"}},
		{"not an STL", []string{put("words.stl", []byte("hello")), "--unit", "mm"}, []string{"not an STL"}},
		{"cut off", []string{put("short.stl", stl(t, cylinder, part{scale: 1})[:5000]), "--unit", "mm"}, []string{"STL"}},
		{"stations out of order", []string{put("order.csv", []byte("s_mm,shape,diameter_mm\n0,round,50\n40,round,48\n30,round,47\n"))}, []string{"order.csv:4", "not beyond the station before"}},
		{"zero area", []string{put("zero.csv", []byte("s_mm,shape,diameter_mm\n0,round,50\n40,round,0\n"))}, []string{"zero.csv:3", "measure the section again"}},
		{"no way", []string{cylinder, "--unit", "mm", "--along", "up"}, []string{"x, y, z or auto"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			code, out, errs := runnel(t, append([]string{"sections"}, tt.args...)...)
			if code != 3 || out != "" {
				t.Errorf("exit code %d, printed %q", code, out)
			}
			for _, s := range tt.say {
				if !strings.Contains(errs, s) {
					t.Errorf("says %q, without %q", errs, s)
				}
			}
		})
	}
	// With --sure the small mesh is taken as it is.
	var got cutSections
	answer(t, &got, "sections", filepath.Join(dir, "inch.stl"), "--unit", "mm", "--sure", "--stations", "5")
	within(t, "length taken on trust", got.Length, 1e-3*86.3937979737193/25.4, 0.002)
	answer(t, &got, "sections", filepath.Join(dir, "inch.stl"), "--unit", "in", "--stations", "5")
	within(t, "length in inches", got.Length, 1e-3*86.3937979737193, 0.002)
}

// A disc of 40 mm on a ground, 0.1 mm a pixel: π/4·d² within what the trace says it may be off, and half a per cent.
func TestSlices(t *testing.T) {
	dir := t.TempDir()
	const n, r = 600, 200.0
	img := image.NewGray(image.Rect(0, 0, n, n))
	for y := range n {
		for x := range n {
			d := math.Hypot(float64(x)-299.5, float64(y)-299.5)
			img.SetGray(x, y, color.Gray{Y: uint8(235 - 200*min(max(r+0.5-d, 0), 1))})
		}
	}
	name := filepath.Join(dir, "disc.png")
	f, err := os.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := png.Encode(f, img); err != nil {
		t.Fatal(err)
	}
	if err := f.Close(); err != nil {
		t.Fatal(err)
	}
	var got struct {
		Slices []struct {
			Area      float64 `json:"area_m2"`
			U         float64 `json:"u_area_rel"`
			Perimeter float64 `json:"perimeter_m"`
		} `json:"slices"`
		Length float64 `json:"length_m"`
		Volume float64 `json:"volume_m3"`
	}
	for _, scale := range []string{"0.1 mm", "254 dpi", "bar 100,50 500,50 40 mm"} {
		answer(t, &got, "slices", name, "--scale", scale)
		s := got.Slices[0]
		within(t, scale+": area", s.Area, math.Pi*0.02*0.02, 0.005)
		within(t, scale+": perimeter", s.Perimeter, math.Pi*0.04, 0.005)
		if !(s.U > 0 && s.U < 0.03) {
			t.Errorf("%s: uncertainty %g", scale, s.U)
		}
	}
	sheet := filepath.Join(dir, "made.csv")
	answer(t, &got, "slices", name, name, "--scale", "254 dpi", "--at", "0 mm, 30 mm", "--out", sheet)
	within(t, "volume between two like slices", got.Volume, math.Pi*0.02*0.02*0.03, 0.005)
	code, _, errs := runnel(t, "ledger", sheet)
	if code != 0 {
		t.Errorf("a ledger of the stations written: %s", errs)
	}
	for _, tt := range []struct {
		say  string
		code int
		args []string
	}{
		{"no scale", 3, []string{name}},
		{"600 dpi", 3, []string{name, "--scale", "sideways"}},
		{"no regular grid", 3, []string{name, "--scale", "grid 5 mm"}},
		{"out of order", 3, []string{name, name, "--scale", "254 dpi", "--at", "30 mm, 10 mm"}},
		{"1 distances for 2 pictures", 2, []string{name, name, "--scale", "254 dpi", "--at", "30 mm"}},
		{"PNG or JPEG", 3, []string{sheet, "--scale", "254 dpi"}},
	} {
		code, _, errs := runnel(t, append([]string{"slices"}, tt.args...)...)
		if code != tt.code || !strings.Contains(errs, tt.say) {
			t.Errorf("%v: exit code %d, says %q", tt.args, code, errs)
		}
	}
}
