package validation

import (
	"fmt"
	"math"

	"runnel/bench"
	"runnel/passage"
	"runnel/tract"
)

const degree = math.Pi / 180

func circle(d float64) float64 { return math.Pi / 4 * d * d }

func entryLoss(b *book) error {
	for _, r := range b.rows("entrance_loss_vs_r_over_D.csv") {
		k, u := bench.EntryLoss(b.num(r, "r_over_D"))
		if r["table_cited"] != "" {
			b.compare("K of a flush rounded entry, bench", k, b.num(r, "table_cited"))
		}
		for _, law := range []string{"rennels", "miller", "idelchik", "harris", "swamee"} {
			if r[law] != "" {
				// 1e-4 stands for the rounding of the printed curves.
				b.compare("five handbooks, in units of the stated standard uncertainty", (b.num(r, law)-k)/(u+5e-5), 0)
			}
		}
		if r["rennels"] != "" && b.num(r, "r_over_D") > 0 {
			b.compare("K by Rennels, one end of the spread in the ledger", passage.EntryRennels(b.num(r, "r_over_D")), b.num(r, "rennels"))
		}
	}
	return nil
}

func throttle(b *book) error {
	for _, r := range b.rows("butterfly_throttle.csv") {
		body := tract.Throttle{Bore: b.num(r, "D_m"), Shaft: b.num(r, "d_m"), Closed: b.num(r, "psi0_deg") * degree}
		got, err := body.Open(b.num(r, "psi_deg") * degree)
		if err != nil {
			return fmt.Errorf("row %s: %w", r["id"], err)
		}
		b.compare("open fraction", got.Fraction, b.num(r, "open_fraction"))
	}
	for _, r := range b.rows("throttle_open_fraction.csv") {
		got, err := tract.Throttle{Bore: 0.05, Shaft: 0.05 * b.num(r, "a"), Closed: 5 * degree}.Open(b.num(r, "psi_deg") * degree)
		if err != nil {
			return err
		}
		b.compare("open fraction, numerical geometry", got.Fraction, b.num(r, "open_fraction"))
	}
	return nil
}

func losses(b *book) error {
	for _, r := range b.rows("losses.csv") {
		d1, d2 := b.opt(r, "D1_m"), b.opt(r, "D2_m")
		f, angle := b.opt(r, "fd_used"), b.opt(r, "angle_deg")*degree
		if r["method"] != "Rennels" {
			continue
		}
		var k float64
		var name string
		switch r["function"] {
		case "entrance_rounded":
			k, name = passage.EntryRennels(b.opt(r, "rc_m")/d1), "rounded entry"
		case "bend_rounded":
			k, name = tract.Bend(angle, b.num(r, "rc_m")/d1, f, b.num(r, "Re")).K, "smooth bend"
		case "contraction_sharp":
			k, name = tract.SuddenContraction(circle(d1), circle(d2)).K, "sharp contraction"
		case "contraction_conical":
			k, name = tract.GradualContraction(circle(d1), circle(d2), b.num(r, "length_m"), f).K, "gradual contraction"
		case "contraction_round":
			k, name = tract.RoundedContraction(circle(d1), circle(d2), b.opt(r, "rc_m")).K, "rounded contraction"
		case "diffuser_sharp":
			k, name = tract.SuddenExpansion(circle(d1), circle(d2)).K, "sudden expansion"
		case "diffuser_conical":
			k, name = tract.GradualExpansion(circle(d1), circle(d2), b.num(r, "length_m"), f).K, "gradual expansion"
		default:
			continue // the sharp entry is printed as 0.57, its formula rounded
		}
		b.compare("K of a "+name, k, b.num(r, "K"))
	}
	return nil
}

func friction(b *book) error {
	labels := map[string]string{
		"laminar_64_Re": "laminar", "Colebrook": "Colebrook", "Clamond": "Colebrook by another solver", "Haaland": "Haaland", "Blasius": "Blasius", "Swamee_Jain_1976": "Swamee and Jain",
	}
	for _, r := range b.rows("friction.csv") {
		re, rough := b.num(r, "Re"), b.num(r, "eD")
		var got float64
		switch r["method"] {
		case "laminar_64_Re":
			got = tract.FrictionLaminar(re)
		case "Colebrook", "Clamond":
			got = tract.FrictionColebrook(re, rough)
		case "Haaland":
			got = tract.FrictionHaaland(re, rough)
		case "Blasius":
			got = tract.FrictionBlasius(re)
		case "Swamee_Jain_1976":
			got = tract.FrictionSwameeJain(re, rough)
		default:
			return fmt.Errorf("no method %q", r["method"])
		}
		b.compare("λ, "+labels[r["method"]], got, b.num(r, "f_Darcy"))
	}
	return nil
}
