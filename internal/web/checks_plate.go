package web

import (
	"net/http"
	"slices"

	"runnel/internal/app"
)

// A chartView is the control chart of a check plate as a page shows it.
type chartView struct {
	U     show
	Title string
	app.CheckChart
	Fig picture
}

func chartViewOf(u show, title string, c app.CheckChart) *chartView {
	v := &chartView{U: u, Title: title, CheckChart: c}
	if len(c.Points) > 0 {
		v.Fig = drawn(app.ChartPicture(c, u.sys))
	}
	return v
}

// Shown writes a value of the chart: a deviation in per cent, else a flow.
func (v chartView) Shown(x float64) string {
	if v.Unit == "1" {
		return signed(100*x, 2) + " %"
	}
	return v.U.Flow(x) + " " + v.U.FlowUnit()
}

// Spread writes a standard deviation of the chart.
func (v chartView) Spread(x float64) string {
	if v.Unit == "1" {
		return number(100*x, 3) + " %"
	}
	return number(v.U.sys.Flow().Value(x), v.U.sys.Flow().Decimals+1) + " " + v.U.FlowUnit()
}

// A numberedPoint is a point with its number in order of time.
type numberedPoint struct {
	Number int
	app.CheckPoint
}

// Newest are the points, the newest first.
func (v chartView) Newest() []numberedPoint {
	out := make([]numberedPoint, 0, len(v.Points))
	for i, p := range slices.Backward(v.Points) {
		out = append(out, numberedPoint{i + 1, p})
	}
	return out
}

// A checkPlatePage shows the check plate over all jobs.
type checkPlatePage struct {
	checksSheet
	Charts []plateChart
}

type plateChart struct {
	app.BenchChart
	View *chartView
}

func (s *server) showCheckPlate(w http.ResponseWriter, r *http.Request) {
	p := checkPlatePage{checksSheet: s.checksSheet(r, "plate", "/bench/checks/plate", "Check plate", form{})}
	charts, err := s.app.ShopCharts(r.Context())
	if err != nil {
		s.fail(w, r, err)
		return
	}
	for _, c := range charts {
		p.Charts = append(p.Charts, plateChart{c, chartViewOf(p.U, c.Title, c.Chart)})
	}
	s.render(w, r, http.StatusOK, "checks_plate.html", p)
}
