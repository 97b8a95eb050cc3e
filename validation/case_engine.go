package validation

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"

	"runnel/engine"
	"runnel/wave"
)

// bm1Engine is the engine in the header of bm1_motored_single_reference.csv, with a pipe of its columns.
func (b *book) bm1Engine(length, bore, friction float64) (*engine.Engine, error) {
	card := b.card()
	card.Inlet.RunnerLength, card.Inlet.RunnerEntry, card.Inlet.RunnerExit = length, bore, bore
	e, err := engine.FromCard(card, engine.Flowed{})
	if err == nil && friction > 0 {
		e.Inlet.Wall = wave.Darcy(friction)
	}
	return e, err
}

// bm1 computes the volumetric efficiency of the motored single. The quick run takes one pipe at three speeds.
func bm1(ctx context.Context, b *book) error {
	rows := b.rows("bm1_motored_single_reference.csv")
	for _, c := range []struct {
		column, name    string
		length, bore, f float64
	}{
		{"VE_L0.4_D40", "VE, pipe of 0.4 m and 40 mm", 0.4, 0.040, 0},
		{"VE_L0.1_D40", "VE, pipe of 0.1 m and 40 mm", 0.1, 0.040, 0},
		{"VE_L0.2_D40", "VE, pipe of 0.2 m and 40 mm", 0.2, 0.040, 0},
		{"VE_L0.4_D45", "VE, pipe of 0.4 m and 45 mm", 0.4, 0.045, 0},
		{"VE_L0.2_D40_f0.02", "VE, pipe of 0.2 m with friction", 0.2, 0.040, 0.02},
	} {
		name, only := c.name+", every speed", ""
		if !b.full {
			name, only = c.name+", three speeds", "2000 4000 6000"
		}
		if !b.wants(name) {
			continue
		}
		e, err := b.bm1Engine(c.length, c.bore, c.f)
		if err != nil {
			return err
		}
		var speeds, want []float64
		for _, r := range rows {
			if only == "" || strings.Contains(only, r["rpm"]) {
				speeds, want = append(speeds, b.num(r, "rpm")/60), append(want, b.num(r, c.column))
			}
		}
		points, err := engine.Pull(ctx, e, speeds, engine.Options{Mesh: 0.010}, nil)
		if err != nil {
			return err
		}
		for i, p := range points {
			if !p.Settled {
				return fmt.Errorf("%s: %.0f rpm did not settle", name, p.Speed*60)
			}
			b.compare(name, p.VE, want[i])
		}
	}
	if err := b.bm1Trace(ctx, 0, ""); err != nil {
		return err
	}
	return b.bm1Trace(ctx, 1, ", limiter as there")
}

// bm1Trace compares one cycle of the motored single over crank angle, each quantity over its own peak. The mesh is the one the trace was made on,
// the limiter our own or, with theta 1, minmod, as there.
func (b *book) bm1Trace(ctx context.Context, theta float64, note string) error {
	const samples = 7200
	rows := b.rows("bm1_trace_L0.4_4000rpm.csv")
	e, err := b.bm1Engine(0.4, 0.040, 0)
	if err != nil {
		return err
	}
	rec, err := engine.Record(ctx, e, 4000.0/60, 1, samples, engine.Options{Mesh: 0.005, Tolerance: 1e-4, Theta: theta})
	if err != nil {
		return err
	}
	for _, c := range []struct {
		name, column string
		got          []float64
	}{
		{"pressure in the cylinder over a cycle", "p_cyl_Pa", rec.Pressure},
		{"pressure in the pipe at the valve over a cycle", "p_pipe_at_valve_Pa", rec.Port},
		{"velocity in the pipe at the valve over a cycle", "u_pipe_mps", rec.PortU},
		{"mass flow through the valve over a cycle", "mdot_kgps", rec.FlowIn},
	} {
		peak := 0.0
		for _, r := range rows {
			peak = max(peak, math.Abs(b.num(r, c.column)))
		}
		for _, r := range rows {
			at := math.Mod(b.num(r, "theta_deg")+720, 720) / 720 * samples
			k, part := int(at), at-math.Floor(at)
			got := c.got[k%samples] + part*(c.got[(k+1)%samples]-c.got[k%samples])
			b.compare(c.name+note, got/peak, b.num(r, c.column)/peak)
		}
	}
	return nil
}

// gx160 compares air and torque of a published small engine, level and shape. The quick run takes two speeds.
func gx160(ctx context.Context, b *book) error {
	e, err := engine.FromCard(b.card(), engine.Flowed{})
	if err != nil {
		return err
	}
	rows := where(b.rows("torres2024_gx160_wot_E100.csv"), "CR", "7.44")
	if !b.full {
		rows = []record{rows[0], rows[len(rows)-1]}
	}
	var speeds, air, torque []float64
	for _, r := range rows {
		speeds, air, torque = append(speeds, b.num(r, "rpm")/60), append(air, b.num(r, "air_kg_s")), append(torque, b.num(r, "torque_Nm"))
	}
	points, err := engine.Pull(ctx, e, speeds, engine.Options{Mesh: 0.010}, nil)
	if err != nil {
		return err
	}
	mean, torqueMean := 0.0, 0.0
	for i, p := range points {
		mean += p.AirFlow / air[i] / float64(len(points))
		torqueMean += p.Torque / torque[i] / float64(len(points))
	}
	for i, p := range points {
		b.compare("air flow, level, kg/s", p.AirFlow, air[i])
		b.compare("torque, level, N·m", p.Torque, torque[i])
		b.compare("air flow, shape over speed", p.AirFlow/air[i]/mean, 1)
		b.compare("torque, shape over speed", p.Torque/torque[i]/torqueMean, 1)
	}
	return b.gx160Gasoline(ctx)
}

// gx160Gasoline compares the same engine on gasoline with another publication. Its fuel consumption at 2500 rpm is printed; the
// other speeds, which the full run takes, were read off a figure.
func (b *book) gx160Gasoline(ctx context.Context) error {
	card := b.card()
	card.CompressionRatio = 8.5
	card.Fuel.Name, card.Fuel.Lambda = "gasoline", 0.95
	e, err := engine.FromCard(card, engine.Flowed{})
	if err != nil {
		return err
	}
	const printed = 2500
	var rows []record
	var speeds []float64
	for _, r := range where(b.rows("gx160_full_load_other.csv"), "source", "Ragan2015") {
		if rpm := b.num(r, "rpm"); rpm == printed || b.full && rpm >= 2000 {
			rows, speeds = append(rows, r), append(speeds, rpm/60)
		}
	}
	points, err := engine.Pull(ctx, e, speeds, engine.Options{Mesh: 0.010}, nil)
	if err != nil {
		return err
	}
	for i, r := range rows {
		at := "2500 rpm"
		if b.num(r, "rpm") != printed {
			at = "speeds beside it"
		}
		fuel := b.num(r, "bsfc_g_kWh") * b.num(r, "power_kW") / 3.6e6
		b.compare("air flow on gasoline, "+at+", kg/s", points[i].AirFlow, fuel*0.95*e.Fuel.StoichiometricRatio())
		b.compare("torque on gasoline, "+at+", N·m", points[i].Torque, b.num(r, "torque_Nm"))
	}
	return nil
}

func correction(b *book) error {
	for _, r := range b.rows("power_correction.csv") {
		temp, pd := b.num(r, "t_C")+273.15, b.num(r, "pd_Pa")
		j, _ := engine.CorrectionJ1349(pd, temp)
		i, _ := engine.CorrectionISO1585(pd, temp)
		b.compare("SAE J1349", j, b.num(r, "cf_J1349"))
		b.compare("ISO 1585", i, b.num(r, "alpha_ISO1585"))
		b.compare("DIN 70020", engine.CorrectionDIN70020(b.num(r, "p_Pa"), temp), b.num(r, "k_DIN70020"))
	}
	return nil
}

func tuning(b *book) error {
	for _, r := range b.rows("intake_tuning.csv") {
		v := engine.EngelmanVolume(b.num(r, "Vd_m3"), b.num(r, "CR"))
		b.compare("effective volume of the cylinder", v, b.num(r, "Veff_m3"))
		c, l, a := b.num(r, "c_ms"), b.num(r, "L1_m"), b.num(r, "A1_m2")
		if r["kind"] == "single_pipe" {
			f := engine.EngelmanFrequency(c, l, a, v)
			b.compare("frequency of one pipe", f, b.num(r, "f1_Hz"))
			b.compare("tuned speed of one pipe", engine.TunedSpeed(f, b.num(r, "K"))*60, b.num(r, "N_rpm"))
			continue
		}
		f1, f2 := engine.EngelmanTwoVolume(c, l, a, v, b.num(r, "L2_m"), b.num(r, "A2_m2"), b.num(r, "V2_m3"))
		b.compare("frequencies with a plenum", f1, b.num(r, "f1_Hz"))
		b.compare("frequencies with a plenum", f2, b.num(r, "f2_Hz"))
	}
	return nil
}

// crankOf reads a crank and a speed [rev/s] out of a note, "B=0.086;S=0.086;l=0.143;CR=10;N=6000".
func (b *book) crankOf(note string) (engine.Crank, float64) {
	var c engine.Crank
	n := 0.0
	for kv := range strings.SplitSeq(note, ";") {
		k, s, ok := strings.Cut(kv, "=")
		if !ok || !slices.Contains([]string{"B", "S", "l", "CR", "N"}, k) {
			continue
		}
		switch x := b.num(record{"v": s}, "v"); k {
		case "B":
			c.Bore = x
		case "S":
			c.Stroke = x
		case "l":
			c.Rod = x
		case "CR":
			c.CompressionRatio = x
		case "N":
			n = x / 60
		}
	}
	return c, n
}

func basics(b *book) error {
	for _, r := range b.rows("engine_basics.csv") {
		v := func(i string) float64 { return b.num(r, "value"+i) }
		want := b.num(r, "value")
		switch q := r["quantity"]; q {
		case "otto_efficiency":
			b.compare("Otto efficiency", engine.OttoEfficiency(v("1"), v("2")), want)
		case "piston_travel_from_TDC":
			c, _ := b.crankOf(r["note"])
			b.compare("piston travel, m", c.Travel(v("1")*degree), want)
		case "cylinder_volume":
			c, _ := b.crankOf(r["note"])
			b.compare("cylinder volume, L", c.Volume(v("1")*degree)*1e3, want*1e3)
		case "piston_speed":
			c, n := b.crankOf(r["note"])
			b.compare("piston speed, m/s", c.TravelRate(v("1")*degree)*2*math.Pi*n, want)
		case "mean_piston_speed":
			b.compare("mean piston speed, m/s", engine.Crank{Stroke: v("1")}.MeanPistonSpeed(v("2")/60), want)
		case "wiebe_mass_fraction":
			_, pair, _ := strings.Cut(r["name4"], "=") // "a,m=5;2"
			a, m, _ := strings.Cut(pair, ";")
			w := engine.Wiebe{Start: v("2"), Duration: v("3"), A: b.num(record{"v": a}, "v"), M: b.num(record{"v": m}, "v")}
			b.compare("burned mass fraction", w.Fraction(v("1")), want)
		case "livengood_taylor_mach_index":
			b.compare("Mach index", engine.MachIndex(v("1"), v("2"), 1, v("3"), v("4"), 1), want)
		case "choked_mass_flux": // in case massflow
		default:
			return fmt.Errorf("row %s: unknown quantity %q", r["id"], q)
		}
	}
	return nil
}
