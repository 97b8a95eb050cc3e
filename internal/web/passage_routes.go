package web

import "net/http"

// passageRoutes lists the addresses of passages.
func (s *server) passageRoutes(mux *http.ServeMux) {
	const one = "/jobs/{id}/passages/{piece}/{opening}"
	mux.HandleFunc("GET /jobs/{id}/passages", s.showPassages)
	mux.HandleFunc("GET "+one, s.showPassage)
	mux.HandleFunc("POST "+one, s.changePassage)
	mux.HandleFunc("POST "+one+"/try", s.tryStations)
	mux.HandleFunc("GET "+one+"/view.bin", s.sendView)
	mux.HandleFunc("GET "+one+"/templates.svg", s.sendTemplates)
	mux.HandleFunc("GET "+one+"/templates.pdf", s.sendTemplates)
	mux.HandleFunc("GET "+one+"/slices", s.showSlices)
	mux.HandleFunc("POST "+one+"/slices", s.changeSlices)
	mux.HandleFunc("GET "+one+"/pictures/{number}", s.sendPicture)
}
