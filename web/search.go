package web

// Finding anything in any job by its words.

import (
	"net/http"
	"strings"

	"chargewright/job"
	"chargewright/store"
	"chargewright/works"
)

// hit is one place where the words stand.
type hit struct{ Job, JobName, Of, Label, Text string }

const mostHits = 100

func (s *Server) search(w http.ResponseWriter, r *http.Request) error {
	q := strings.TrimSpace(r.URL.Query().Get("q"))
	var hits []hit
	if q != "" {
		jobs, err := s.Store.Jobs(r.Context())
		if err != nil {
			return err
		}
		for _, j := range jobs {
			if err := r.Context().Err(); err != nil || len(hits) > mostHits {
				if err != nil {
					return err
				}
				break
			}
			acts, err := s.Store.Acts(r.Context(), j.ID, 0)
			if err != nil {
				return err
			}
			hits = append(hits, find(j.ID, store.Record(acts), q)...)
		}
	}
	more := len(hits) > mostHits
	if more {
		hits = hits[:mostHits]
	}
	return render(w, http.StatusOK, "search.html", struct {
		Frame
		Q    string
		Hits []hit
		More bool
	}{s.Frame(r, "Search"), q, hits, more})
}

// find returns the facts of a job that hold every word of q, in their name or
// their value.
func find(id string, r *job.Record, q string) []hit {
	wanted := strings.Fields(strings.ToLower(q))
	var out []hit
	for _, p := range r.Paths() {
		e := r.Now(p)
		label := spoken(p)
		text := strings.ToLower(label + " " + e.Value)
		all := e.Value != ""
		for _, word := range wanted {
			all = all && strings.Contains(text, word)
		}
		if all && r.Has(p) {
			of := sheetOfPath(p)
			if works.Within(p, "readings") || works.Within(p, "notes") {
				of = ""
			}
			out = append(out, hit{id, r.Now("job").Value, of, label, e.Value})
		}
	}
	return out
}
