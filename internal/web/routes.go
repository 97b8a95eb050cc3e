package web

import "net/http"

// routes lists every address Runnel answers.
func (s *server) routes() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.showJobs)
	mux.HandleFunc("POST /jobs", s.importJob)
	mux.HandleFunc("GET /book-in", s.showBookIn)
	mux.HandleFunc("POST /book-in", s.bookIn)
	mux.HandleFunc("GET /jobs/{id}", s.showStory)
	mux.HandleFunc("GET /jobs/{id}/readings", s.showReadings)
	mux.HandleFunc("GET /jobs/{id}/readings/{reading}", s.showReading)
	mux.HandleFunc("GET /jobs/{id}/sittings", s.showSittings)
	mux.HandleFunc("GET /jobs/{id}/sittings/new", s.showNewSitting)
	mux.HandleFunc("POST /jobs/{id}/sittings/new", s.beginSitting)
	mux.HandleFunc("GET /jobs/{id}/sittings/{sitting}/walk", s.showWalk)
	mux.HandleFunc("POST /jobs/{id}/sittings/{sitting}/walk", s.changeWalk)
	mux.HandleFunc("GET /jobs/{id}/bench", s.showJobBench)
	mux.HandleFunc("GET /bench", s.showBench)
	mux.HandleFunc("GET /bench/live", s.streamBench)
	mux.HandleFunc("POST /bench/do", s.doBench)
	mux.HandleFunc("POST /bench/open", s.openBench)
	mux.HandleFunc("POST /bench/close", s.closeBench)
	mux.HandleFunc("GET /bench/card", s.showShopBench)
	mux.HandleFunc("POST /bench/card", s.changeShopBench)
	mux.HandleFunc("GET /bench/sensors", s.showSensors)
	mux.HandleFunc("POST /bench/sensors", s.changeSensors)
	mux.HandleFunc("GET /bench/sensors/live", s.streamSensors)
	mux.HandleFunc("POST /bench/sensors/two-point", s.twoPoint)
	mux.HandleFunc("GET /jobs/{id}/engine", s.showEngine)
	mux.HandleFunc("GET /jobs/{id}/engine/pull", s.showPull)
	mux.HandleFunc("GET /jobs/{id}/engine/try", s.showTry)
	mux.HandleFunc("GET /jobs/{id}/engine/try/answer", s.showTried)
	mux.HandleFunc("GET /jobs/{id}/engine/try/cycle", s.showCycle)
	mux.HandleFunc("GET /jobs/{id}/progress", s.streamProgress)
	mux.HandleFunc("POST /jobs/{id}/retry", s.retryPull)
	mux.HandleFunc("GET /jobs/{id}/handover", s.showHandover)
	mux.HandleFunc("GET /jobs/{id}/handover/{file}", s.sendHandover)
	mux.HandleFunc("GET /jobs/{id}/record", s.showRecord)
	mux.HandleFunc("GET /jobs/{id}/card", s.showJobCard)
	mux.HandleFunc("POST /jobs/{id}/card", s.changeJobCard)
	mux.HandleFunc("GET /jobs/{id}/export.zip", s.exportJob)
	mux.HandleFunc("POST /jobs/{id}/delete", s.deleteJob)
	mux.HandleFunc("POST /jobs/{id}/restore", s.restoreJob)
	mux.HandleFunc("POST /jobs/{id}/back", s.goBack)
	mux.HandleFunc("POST /settings", s.saveSettings)
	mux.HandleFunc("GET /assets/{version}/{file...}", s.asset)
	mux.HandleFunc("GET /favicon.ico", s.favicon)
	mux.HandleFunc("GET /healthz", s.health)
	s.passageRoutes(mux)
	s.checkRoutes(mux)
	mux.HandleFunc("GET /", s.notFound)
	return mux
}

func (s *server) health(w http.ResponseWriter, r *http.Request) {
	if err := s.app.Healthy(r.Context()); err != nil {
		http.Error(w, "the file does not answer", http.StatusServiceUnavailable)
		return
	}
	w.Header().Set("Cache-Control", "no-store")
	s.text(w, "ok\n")
}

func (s *server) favicon(w http.ResponseWriter, r *http.Request) {
	address, err := s.assets.url("mark.svg")
	if err != nil {
		s.notFound(w, r)
		return
	}
	http.Redirect(w, r, address, http.StatusFound)
}

func (s *server) text(w http.ResponseWriter, text string) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if _, err := w.Write([]byte(text)); err != nil {
		s.log.Debug("answer cut short", "error", err)
	}
}
