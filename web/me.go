package web

// Who is at work, and what a browser out of reach of the server holds.

import (
	"net/http"
	"strings"
)

func (s *Server) me(w http.ResponseWriter, r *http.Request) error {
	return render(w, http.StatusOK, "me.html", struct{ Frame }{s.Frame(r, "Who is working")})
}

func (s *Server) setMe(w http.ResponseWriter, r *http.Request) error {
	if s.SetWho == nil {
		return Refuse(http.StatusForbidden, "Your name comes from your account.")
	}
	name := strings.Join(strings.Fields(r.PostFormValue("name")), " ")
	if len(name) > 80 {
		return Refuse(http.StatusUnprocessableEntity, "That name is longer than 80 letters.")
	}
	if err := s.SetWho(w, name); err != nil {
		return err
	}
	http.Redirect(w, r, "/", http.StatusSeeOther)
	return nil
}

func (s *Server) away(w http.ResponseWriter, r *http.Request) error {
	return render(w, http.StatusOK, "away.html", struct {
		Frame
		Bundled bool
		Ends    string
		Without string
	}{s.Frame(r, "Without signal"), Bundled(), s.endsSaid(r), InDays(s.AwayFor)})
}

// endsSaid is until when this device may be used without the server.
func (s *Server) endsSaid(r *http.Request) string {
	if s.Ends == nil {
		return ""
	}
	if at, set := s.Ends(r.Context()); set {
		return clock(Stamp(at))
	}
	return ""
}
