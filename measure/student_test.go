package measure

import (
	"math"
	"testing"

	"runnel/internal/tabletest"
)

// Source: testdata/student_t.csv (scipy polished by Newton, checked against R);
// tolerance of its header.
func TestTQuantileTable(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/student_t.csv", 1) {
		p, nu := r.Num(t, "p"), r.Num(t, "nu")
		same(t, "t("+r["p"]+", "+r["nu"]+")", TQuantile(p, nu), r.Num(t, "t_p"), 1e-8)
		same(t, "t(1-"+r["p"]+", "+r["nu"]+")", TQuantile(1-p, nu), -r.Num(t, "t_p"), 1e-8)
		same(t, "CDF(1.5, "+r["nu"]+")", TCDF(1.5, nu), r.Num(t, "cdf_1p5"), 1e-8)
	}
}

// The quantile undoes the distribution function, off every whole number, and the
// limits are those of the normal distribution. 1e-12 is some hundred rounding
// errors of the incomplete beta function.
func TestTQuantileInverts(t *testing.T) {
	for _, nu := range []float64{0.7, 1, 2.35, 12.8, 451.3, 1e7, math.Inf(1)} {
		for _, p := range []float64{0.51, 0.6, 0.9, 0.975, 0.9995, 1 - 1e-7} {
			x := TQuantile(p, nu)
			near(t, "upper tail back", TTwoSided(x, nu)/2, 1-p, 1e-12, 1e-15)
			near(t, "mirror", TQuantile(1-p, nu), -x, 1e-9, 1e-12)
		}
	}
	same(t, "normal 97.5 %", TQuantile(0.975, math.Inf(1)), 1.959963984540054, 1e-14) // 16 printed digits, from memory
	for _, bad := range [][2]float64{{-0.1, 3}, {1.1, 3}, {0.5, 0}, {0.9, -1}, {math.NaN(), 3}, {0.9, math.NaN()}} {
		if v := TQuantile(bad[0], bad[1]); !math.IsNaN(v) {
			t.Errorf("TQuantile(%v, %v) = %v, want NaN", bad[0], bad[1], v)
		}
	}
	if v := TQuantile(0.5, 3); v != 0 {
		t.Errorf("median = %v, want 0", v)
	}
	if v := TQuantile(1, 3); !math.IsInf(v, 1) {
		t.Errorf("TQuantile(1) = %v, want +Inf", v)
	}
}

// The F distribution with one degree of freedom above is the square of t.
func TestFUpperAgainstT(t *testing.T) {
	for _, nu := range []float64{1.5, 4, 33.3} {
		for _, x := range []float64{0.1, 1.7, 6} {
			same(t, "F(1, ν)", FUpper(x*x, 1, nu), TTwoSided(x, nu), 1e-12)
		}
	}
	if FUpper(0, 2, 3) != 1 || FUpper(math.Inf(1), 2, 3) != 0 {
		t.Error("limits of the F distribution are wrong")
	}
}

// Source: testdata/welch_satterthwaite.csv (JCGM 100 Annex G.4; row 2 is a
// published example with 12.8); tolerance of its header, but 5e-9 for k and what
// is made from it: the table's quantile is the library's raw one, which the
// header of student_t.csv calls good to 5e-9. At ν = 40 it is 3.6e-9 off: a
// 30-digit incomplete beta function gives an upper tail of 0.0250000003949 for
// the table's k and 0.0250000000000002 for ours.
func TestWelchSatterthwaiteTable(t *testing.T) {
	for _, r := range tabletest.Read(t, "testdata/welch_satterthwaite.csv", 1) {
		b := Budget{Value: 1}
		nus := r.List(t, "nu_list")
		for i, u := range r.List(t, "u_list") {
			b.Lines = append(b.Lines, Line{U: u, Dof: nus[i], Sensitivity: 1})
		}
		same(t, r["id"]+" uc", b.Combined(), r.Num(t, "uc"), 1e-9)
		same(t, r["id"]+" nu", b.Dof(), r.Num(t, "nu_eff"), 1e-9)
		e, err := b.Expanded(0.95)
		if err != nil {
			t.Fatal(err)
		}
		same(t, r["id"]+" k", e.K, r.Num(t, "k95"), 5e-9)
		same(t, r["id"]+" U", e.U, r.Num(t, "U95"), 5e-9)
		if nu := r.Num(t, "nu_eff"); !math.IsInf(nu, 1) {
			same(t, r["id"]+" k cut", CoverageFactor(0.95, math.Floor(b.Dof()+1e-9)), r.Num(t, "k95_trunc"), 5e-9)
		}
	}
}
