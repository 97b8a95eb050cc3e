package web

import (
	"net/http"

	"runnel/internal/app"
	"runnel/internal/fault"
)

// What became of a check, as notes say it.
const (
	checkKept = "check-kept"
	checkAway = "check-away"
	checkBack = "check-back"
)

// A keptFile is the file of a check that is kept, with the command that reads it and the page it is put away from.
type keptFile struct {
	Drawer        app.Drawer
	Command, Name string
	Text, Address string
}

// An awayList is what was put away from a drawer, with the way to bring it back.
type awayList struct {
	Names []string
	path  func(string) string // of a check
}

// Address is where a check is brought back.
func (l awayList) Address(name string) string { return l.path(name) }

func (s *server) away(d app.Drawer, path func(string) string) awayList {
	names, err := s.app.ChecksAway(d)
	if err != nil {
		s.log.Warn("checks that were put away", "error", err)
	}
	return awayList{Names: names, path: path}
}

// moveCheck puts a check away or brings it back. list is the page of those that are kept, path that of one.
func (s *server) moveCheck(d app.Drawer, list string, path func(string) string) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		f, ok := s.readForm(w, r)
		if !ok {
			return
		}
		name, to := r.PathValue("name"), list+"?did="+checkAway
		var err error
		switch f.Typed.Get("do") {
		case "away":
			err = s.app.PutAwayCheck(d, name)
		case "back":
			if name, err = s.app.BringBackCheck(d, name); err == nil {
				to = path(name) + "?did=" + checkBack
			}
		default:
			err = fault.Errorf(fault.Invalid, "nothing was chosen: put the check away, or bring it back")
		}
		if err != nil {
			s.fail(w, r, err)
			return
		}
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}
